//! Models and transcripts on the screen.

use std::io;

use leadsman_ingest::heard::Transcript;

use super::add::Added;
use super::changes::Changes;
use super::ggml::Model;
use crate::figure;
use crate::screen::{CARE, FAINT, GOOD, STRONG, Screen, styled};

/// Prints what a model is.
pub fn model(model: &Model, screen: &mut Screen) -> io::Result<()> {
    let language = if model.english { "English only" } else { "many languages, heard as English" };
    let weights = figure::number((model.weights as f64 / 1e6).round());
    let bytes = figure::number((model.bytes as f64 / 1e6).round());
    screen.paragraph(
        "",
        "  ",
        &format!("{}: {language}, {weights} million weights, {bytes} MB", styled(STRONG, &model.name)),
    )?;
    screen.line(styled(FAINT, format!("  {}", model.path.display())))?;
    screen.line(styled(FAINT, format!("  SHA-256 {}", model.sha256)))
}

/// Prints what became of a model that was added.
pub fn added(added: &Added, screen: &mut Screen) -> io::Result<()> {
    model(&added.model, screen)?;
    let converted = if added.converted { "converted and checked" } else { "checked and copied" };
    screen.paragraph(
        "",
        "  ",
        &format!("{} settings.toml names it: it listens from now on", styled(GOOD, format!("{converted};"))),
    )?;
    Ok(())
}

/// Prints a transcript, an utterance a line with its seconds, what was put right beside it.
pub fn transcript(transcript: &Transcript, screen: &mut Screen) -> io::Result<()> {
    let by = match transcript.corrected {
        true => "put right by hand".to_owned(),
        false => format!(
            "heard by {} ({}), leadsman {}",
            transcript.model,
            transcript.model_sha256.get(..8).unwrap_or_default(),
            transcript.program
        ),
    };
    let length = figure::clock(transcript.seconds);
    screen.paragraph("", "  ", &format!("{}, {length}: {by}", styled(STRONG, &transcript.name)))?;
    let width = figure::clock(transcript.said.last().map_or(0.0, |said| said.from)).len();
    for said in &transcript.said {
        let at = format!("{:>width$}", figure::clock(said.from));
        screen.paragraph(&format!("{}  ", styled(FAINT, at)), &" ".repeat(width + 2), &said.text)?;
        for change in &said.changes {
            let now = said.text.get(change.at.0..change.at.1).unwrap_or_default();
            let text = format!("heard \"{}\", taken for \"{now}\"", change.heard);
            let lead = " ".repeat(width + 4);
            screen.paragraph(&lead, &lead, &styled(FAINT, text))?;
        }
    }
    Ok(())
}

/// Prints what another listening changes.
pub fn changes(name: &str, changes: &Changes, screen: &mut Screen) -> io::Result<()> {
    if changes.words.is_empty() && changes.gone.is_empty() && changes.new.is_empty() {
        return screen.paragraph("", "  ", &format!("{}: heard the same", styled(STRONG, name)));
    }
    let words = figure::count(changes.words.len(), "change", "changes");
    screen.paragraph("", "  ", &format!("{}: {words} of words", styled(STRONG, name)))?;
    for change in &changes.words {
        let shown =
            |words: &str| if words.is_empty() { "(nothing)".to_owned() } else { format!("\"{words}\"") };
        let at = styled(FAINT, figure::clock(change.at));
        screen.paragraph(
            "  ",
            "      ",
            &format!("{at}  {} becomes {}", shown(&change.before), shown(&change.after)),
        )?;
    }
    for (sign, readings) in [("gone:", &changes.gone), ("new:", &changes.new)] {
        for reading in readings {
            screen.paragraph(&format!("  {} ", styled(CARE, sign)), "      ", reading)?;
        }
    }
    Ok(())
}
