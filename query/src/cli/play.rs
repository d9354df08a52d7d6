//! `leadsman play`: the seconds of sound behind an item, or a stretch of a recording, as a clip.

use std::path::PathBuf;

use clap::Args;
use leadsman_index::{SourceId, Store};

use super::context::Context;
use crate::error::{Error, Exit};
use crate::figure;
use crate::screen::{STRONG, styled};
use crate::voice::clip;
use crate::voice::stretch::{Stretch, behind};

/// Write the sound behind an item, or a stretch of a recording, to a file that plays anywhere
#[derive(Debug, Args)]
pub struct Play {
    /// An item's short name, or a recording by file name or hash
    what: String,
    /// Where the stretch begins, in seconds (of a recording)
    #[arg(long, value_name = "SECONDS")]
    from: Option<f64>,
    /// Where it ends, in seconds (of a recording)
    #[arg(long, value_name = "SECONDS")]
    until: Option<f64>,
    /// The file to write (WAV); without it, one named for the item or the recording, here
    #[arg(long, value_name = "FILE")]
    out: Option<PathBuf>,
}

impl Play {
    pub async fn run(self, context: &mut Context) -> Result<Exit, Error> {
        let none = || Error::wrong_use(format!("there is no item or recording \"{}\"", self.what));
        let store = context.store().await?.ok_or_else(none)?;
        let (recording, name, from, until) = match store.find_source(&self.what).await {
            Ok(row) => {
                let recording = store.record().recording_of(&row.source).unwrap_or(row.source);
                let (from, until) = (self.from.unwrap_or(0.0), self.until.unwrap_or(f64::INFINITY));
                if !(from >= 0.0 && until > from) {
                    return Err(Error::wrong_use(format!(
                        "expected a stretch that begins before it ends, found {from} to {until} s"
                    )));
                }
                (recording, row.name, from, until)
            }
            Err(leadsman_index::Error::NoSource { .. }) => self.of_item(&store, context).await?,
            Err(error) => return Err(error.into()),
        };
        let file = context.home.open()?.archive().unpack(&recording)?;
        let samples = clip::samples(file, from, until).map_err(|unheard| {
            Error::source(format!("{name}: {unheard}")).hint("only recordings can be played")
        })?;
        let safe = |text: &str| text.replace(|c: char| !c.is_alphanumeric() && !"-_.".contains(c), "-");
        let out = self.out.clone().unwrap_or_else(|| PathBuf::from(format!("{}.wav", safe(&self.what))));
        clip::write(&samples, &out)?;
        let seconds = figure::value(samples.len() as f64 / f64::from(leadsman_ingest::sound::RATE), "s");
        let at = figure::clock(from);
        let text = format!("{}: {seconds} of {name} from {at}", styled(STRONG, out.display()));
        context.screen.paragraph("", "  ", &text)?;
        Ok(Exit::Done)
    }

    /// The latest evidence of an item that was heard, and where it is in the sound.
    async fn of_item(
        &self,
        store: &Store,
        context: &mut Context,
    ) -> Result<(SourceId, String, f64, f64), Error> {
        let list = Context::boat_of(Some(store)).await?.open_list(context.now(), None);
        let open = list.standing().map(|item| (item.name.clone(), item.evidence.clone()));
        let all = open.chain(list.closed.iter().map(|item| (item.name.clone(), item.evidence.clone())));
        let asked = self.what.trim().to_lowercase();
        let mut fitting: Vec<_> =
            all.filter(|item| !asked.is_empty() && item.0.starts_with(&asked)).collect();
        if fitting.iter().any(|item| item.0 == asked) {
            fitting.retain(|item| item.0 == asked);
        }
        fitting.dedup_by(|a, b| a.0 == b.0);
        let evidence = match fitting.as_slice() {
            [(_, evidence)] => evidence,
            [] => {
                let error = Error::wrong_use(format!("no item or recording is called \"{}\"", self.what));
                return Err(error.hint("`leadsman open --all` lists the items, each with its short name"));
            }
            several => {
                let names: Vec<&str> = several.iter().map(|item| item.0.as_str()).collect();
                let error =
                    Error::wrong_use(format!("\"{}\" could be any of {}", self.what, names.join(", ")));
                return Err(error.hint("give one more letter"));
            }
        };
        for (source, span) in evidence.iter().rev().map(|one| (&one.source, one.span)) {
            let Ok(source) = source.parse::<SourceId>() else { continue };
            if let Some(Stretch { recording, name, from, until }) = behind(store, &source, span).await? {
                return Ok((recording, name, from, until));
            }
        }
        Err(Error::wrong_use(format!(
            "{}: no word of it was heard in a recording; it was written",
            self.what
        )))
    }
}
