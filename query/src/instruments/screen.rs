//! The instruments, for a person.

use std::io;

use super::{Calibration, ChannelOf, ClockDay, Instruments, Measured, Samples};
use crate::figure;
use crate::screen::{CARE, FAINT, STRONG, Screen, styled};
use crate::words::spaced;

/// Gaps of a channel that are shown one by one.
const GAPS_SHOWN: usize = 3;

/// Prints the channels, a block a quantity, and the calibration below.
pub fn show(instruments: &Instruments, screen: &mut Screen) -> io::Result<()> {
    if instruments.channels.is_empty() {
        return screen.line("no channels: no instrument log has been dumped yet");
    }
    let same = |a: &ChannelOf, b: &ChannelOf| a.quantity == b.quantity && a.reference == b.reference;
    for block in instruments.channels.chunk_by(same) {
        let of = &block[0];
        let reference = if of.reference.is_empty() { String::new() } else { format!(", {}", of.reference) };
        screen.line(format!(
            "{}{reference} {}",
            styled(STRONG, spaced(of.quantity)),
            styled(FAINT, format!("({})", of.unit))
        ))?;
        for channel in block {
            show_channel(channel, screen)?;
        }
    }
    calibration(&instruments.calibration, screen)
}

/// Prints the steady offsets under their heading; nothing where there is none.
pub fn calibration(pairs: &[Calibration], screen: &mut Screen) -> io::Result<()> {
    if !pairs.is_empty() {
        screen.gap()?;
        screen.line(styled(STRONG, "Calibration"))?;
        for pair in pairs {
            let by = figure::value(pair.offset.abs(), pair.unit);
            let side = if pair.offset > 0.0 { "more" } else { "less" };
            let factor =
                pair.factor.map_or_else(String::new, |factor| format!(" (times {})", figure::number(factor)));
            let headings = pair.opposite_pairs.map_or_else(String::new, |pairs| {
                format!(
                    ", on {}",
                    figure::count(pairs, "pair of opposite headings", "pairs of opposite headings")
                )
            });
            let text = format!(
                "{} shows {by} {side}{factor} than {}: {}{headings}, half of them within {}",
                pair.first,
                pair.second,
                figure::count(pair.minutes, "minute", "minutes"),
                figure::value(pair.spread, pair.unit),
            );
            screen.paragraph("  ", "    ", &text)?;
        }
        let caution = "which of the two is out is not told by this; the makers' own procedures set it right";
        screen.paragraph("  ", "  ", &styled(CARE, caution))?;
    }
    Ok(())
}

fn show_channel(channel: &ChannelOf, screen: &mut Screen) -> io::Result<()> {
    let instance = if channel.instance.is_empty() { String::new() } else { format!(" {}", channel.instance) };
    let mut text = format!(
        "{} to {}, {} of samples, {} a second",
        figure::moment(channel.first),
        figure::moment(channel.last),
        figure::count(channel.minutes as usize, "minute", "minutes"),
        figure::number(channel.rate_hz),
    );
    if !channel.gaps.is_empty() {
        let shown: Vec<String> = channel
            .gaps
            .iter()
            .take(GAPS_SHOWN)
            .map(|gap| format!("{} min from {}", gap.minutes, figure::moment(gap.after)))
            .collect();
        let more = if channel.gaps.len() > GAPS_SHOWN { ", …" } else { "" };
        text +=
            &format!("; {}: {}{more}", figure::count(channel.gaps.len(), "gap", "gaps"), shown.join(", "));
    }
    screen.paragraph(&format!("  {}{instance}  ", channel.sender), "      ", &text)
}

/// Prints every sample of a window, a line each, a block a channel.
pub fn samples(found: &Samples, screen: &mut Screen) -> io::Result<()> {
    let window = format!("from {} to {}", figure::moment(found.from), found.until.format("%H:%M"));
    if found.channels.is_empty() {
        return screen.line(format!("no samples {window}, by the instruments' clock"));
    }
    screen.line(format!("samples {window}, by the instruments' clock"))?;
    for channel in &found.channels {
        let reference =
            if channel.reference.is_empty() { String::new() } else { format!(", {}", channel.reference) };
        let instance =
            if channel.instance.is_empty() { String::new() } else { format!(" {}", channel.instance) };
        screen.gap()?;
        screen.line(format!(
            "{}{reference} {}",
            styled(STRONG, spaced(channel.quantity)),
            styled(FAINT, format!("({}{instance})", channel.sender))
        ))?;
        for sample in &channel.samples {
            let at = sample.at.format("%H:%M:%S%.3f");
            screen.line(format!("  {at}  {}", figure::value(sample.value, channel.unit)))?;
        }
        if channel.cut_off {
            screen.paragraph(
                "  ",
                "  ",
                &styled(CARE, "there are more than are shown; ask for fewer minutes"),
            )?;
        }
    }
    Ok(())
}

/// What was measured, in words: `true wind speed 14.2 kn (11 to 17)`.
pub fn measured(m: &Measured) -> String {
    let range = figure::range(Some(m.low), Some(m.high), "");
    let range = match m.high - m.low {
        0.0 => String::new(),
        // An angle that went to the other side: its ends are counted from wherever it began, and say nothing.
        wide if m.unit == "deg" && wide > 180.0 => " (all round)".to_owned(),
        _ => format!(" ({range})"),
    };
    format!("{} {}{range}", spaced(m.quantity), figure::value(m.mean, m.unit))
}

/// Prints what was measured over a time on lines that begin with `indent`; nothing where nothing was.
pub fn all_measured(indent: &str, list: &[Measured], screen: &mut Screen) -> io::Result<()> {
    if list.is_empty() {
        return Ok(());
    }
    let words: Vec<String> = list.iter().map(measured).collect();
    screen.paragraph(indent, indent, &format!("measured: {}", words.join(", ")))
}

/// Prints how far the instruments' clock is from the notes', day by day.
pub fn clocks(days: &[ClockDay], screen: &mut Screen) -> io::Result<()> {
    if days.is_empty() {
        return screen.line("no day has both notes and instruments");
    }
    for day in days {
        let of = figure::count(day.compared, "number", "numbers");
        let text = match &day.difference {
            Some(difference) => {
                let ahead = if difference.ahead_s < 0.0 { "behind" } else { "ahead of" };
                let by = figure::value(difference.ahead_s.abs(), "s");
                let how = if difference.by_hand {
                    "by your own word".to_owned()
                } else {
                    format!("{} of {of} said agree so, {} without", difference.agree, day.agree_as_they_are)
                };
                format!("the instruments' clock is {by} {ahead} the notes': {how}")
            }
            None => format!(
                "no difference can be told: {} of {of} said agree with the instruments as they are",
                day.agree_as_they_are
            ),
        };
        screen.paragraph(&format!("{}  ", styled(STRONG, figure::day(day.day))), "    ", &text)?;
    }
    Ok(())
}
