//! `leadsman record`: records a live feed of the boat's instruments until it is stopped.

use std::io::Write;
use std::time::Duration;

use chrono::Utc;
use clap::Args;
use leadsman_index::Home;

use super::context::{Context, PATIENCE};
use crate::error::{Error, Exit};
use crate::figure;
use crate::record::{Address, Counts, Event, Feed, Lines, Spool, adopt};
use crate::screen::{CARE, FAINT, GOOD, Screen, styled};

/// How often the file is looked at, whether or not anything comes.
const LOOK: Duration = Duration::from_secs(1);

/// Record a live feed of NMEA 0183 or Signal K until stopped; nothing is sent
#[derive(Debug, Args)]
pub struct Record {
    /// tcp://HOST:PORT, udp://:PORT (10110 where no port is given), or - for standard input
    address: Address,
    /// Make a source of what was recorded after so many minutes
    #[arg(long, value_name = "MINUTES", default_value_t = 60, value_parser = clap::value_parser!(u64).range(1..=1440))]
    every: u64,
}

impl Record {
    pub async fn run(self, context: &mut Context) -> Result<Exit, Error> {
        let home = context.home.open()?;
        for left in adopt(&home, PATIENCE).await? {
            let text = format!("took what an earlier recording left: {}", left.name);
            context.screen.line(styled(CARE, text))?;
        }
        // Set up before anything is read, so that a signal ends the recording and not the program.
        let mut stop = std::pin::pin!(stopped()?);
        let mut feed = Feed::open(&self.address).map_err(|error| {
            Error::source(format!("cannot listen on {}", self.address))
                .because(&error)
                .hint("see whether another program has the port, and give another one")
        })?;
        let mut recording = Recording {
            home,
            age: Duration::from_secs(self.every * 60),
            lines: Lines::default(),
            spool: None,
            kept: Vec::new(),
        };
        let told =
            format!("recording {} into {}; stop with Ctrl-C", self.address, context.home.path.display());
        say(&mut context.screen, &told);
        let mut tick = tokio::time::interval(LOOK);
        loop {
            tokio::select! {
                biased;
                () = &mut stop => break,
                _ = tick.tick() => recording.look(&mut context.screen).await?,
                event = feed.next() => match event {
                    Some(Event::Bytes(bytes)) => recording.take(&bytes)?,
                    Some(Event::Open) => say(&mut context.screen, &styled(GOOD, "connected")),
                    Some(Event::Lost { why, wait }) => {
                        let text = format!("lost: {why}; again in {} s", wait.as_secs());
                        say(&mut context.screen, &styled(CARE, text));
                    }
                    Some(Event::Ended) | None => break,
                },
            }
        }
        // What was read already is kept as well.
        feed.close();
        while let Some(event) = feed.next().await {
            if let Event::Bytes(bytes) = event {
                recording.take(&bytes)?;
            }
        }
        let counts = recording.end(&mut context.screen).await?;
        sum_up(&counts, &mut context.screen);
        Ok(Exit::Done)
    }
}

/// A recording on its way into the home.
struct Recording {
    home: Home,
    age: Duration,
    lines: Lines,
    /// The file that grows; none before anything came.
    spool: Option<Spool>,
    kept: Vec<u8>,
}

impl Recording {
    fn take(&mut self, bytes: &[u8]) -> Result<(), Error> {
        let now = Utc::now();
        self.lines.take(bytes, now, &mut self.kept);
        self.write(now)
    }

    fn write(&mut self, now: chrono::DateTime<Utc>) -> Result<(), Error> {
        if self.kept.is_empty() {
            return Ok(());
        }
        let spool = match &mut self.spool {
            Some(spool) => spool,
            none => none.insert(Spool::begin(self.home.root(), now)?),
        };
        spool.write(&self.kept)?;
        self.kept.clear();
        Ok(())
    }

    /// Syncs what is due, and makes a source of a file that is full.
    async fn look(&mut self, screen: &mut Screen) -> Result<(), Error> {
        let Some(spool) = &mut self.spool else { return Ok(()) };
        spool.sync_when_due()?;
        if spool.is_full(self.age)
            && let Some(spool) = self.spool.take()
        {
            spool.close()?;
            // A home that another command holds just now is no reason to stop: the file stays, and is taken next time.
            match adopt(&self.home, Duration::from_secs(1)).await {
                Ok(taken) => {
                    for one in taken {
                        let samples = figure::count(one.samples as usize, "sample", "samples");
                        say(screen, &format!("kept {}: {samples}", one.name));
                    }
                }
                Err(error) => say(screen, &styled(CARE, format!("not taken yet: {error}"))),
            }
        }
        Ok(())
    }

    async fn end(mut self, screen: &mut Screen) -> Result<Counts, Error> {
        let now = Utc::now();
        self.lines.finish(now, &mut self.kept);
        self.write(now)?;
        if let Some(spool) = self.spool.take() {
            spool.close()?;
        }
        for one in adopt(&self.home, PATIENCE).await? {
            let samples = figure::count(one.samples as usize, "sample", "samples");
            say(screen, &format!("kept {}: {samples}", one.name));
        }
        Ok(self.lines.counts)
    }
}

fn sum_up(counts: &Counts, screen: &mut Screen) {
    let mut text = figure::count(counts.records as usize, "record", "records");
    if counts.other > 0 {
        text += &format!(", {} that are none", figure::count(counts.other as usize, "line", "lines"));
    }
    if counts.left_out > 0 {
        text += &format!(", {} bytes of no record left out", counts.left_out);
    }
    say(screen, &styled(FAINT, format!("stopped: {text}")));
    if counts.records == 0 && counts.bytes > 0 {
        let text = "nothing that came is a record of an instrument; see whether the address is that of an NMEA 0183 or \
                    Signal K feed";
        say(screen, &styled(CARE, text));
    }
}

/// Tells something at once. A reader that went away stops the telling, not the recording.
fn say(screen: &mut Screen, text: &str) {
    screen.paragraph("", "  ", text).and_then(|()| screen.flush()).ok();
}

/// Ends when the program is asked to: Ctrl-C, or the system's request to terminate. Errors: signals cannot be heard.
fn stopped() -> Result<impl Future<Output = ()>, Error> {
    let cannot = |error: std::io::Error| Error::home("cannot wait for Ctrl-C").because(&error);
    #[cfg(unix)]
    {
        use tokio::signal::unix::{SignalKind, signal};
        let mut interrupt = signal(SignalKind::interrupt()).map_err(cannot)?;
        let mut terminate = signal(SignalKind::terminate()).map_err(cannot)?;
        let mut hang_up = signal(SignalKind::hangup()).map_err(cannot)?;
        Ok(async move {
            tokio::select! {
                _ = interrupt.recv() => {}
                _ = terminate.recv() => {}
                _ = hang_up.recv() => {}
            }
        })
    }
    #[cfg(not(unix))]
    {
        let _ = cannot;
        Ok(async {
            tokio::signal::ctrl_c().await.ok();
        })
    }
}
