//! Zones as people write them: `UTC+10`, `-0400`, `ADT`, "Irish summer time", "local time Hobart".

use chrono::FixedOffset;

use super::said::ZoneSaid;
use super::words::{Kind, Tok, is_mark};
use super::zone::{self, Zone};

/// A zone at a token, and how many tokens it takes.
pub(super) fn zone(t: &[Tok<'_>], i: usize, beside_time: bool) -> Option<(ZoneSaid, usize)> {
    let firm = |zone: Zone| ZoneSaid { options: vec![zone], firm: true };
    let first = &t[i];
    if first.is(&["utc", "gmt", "zulu"]) && first.kind == Kind::Word {
        if let Some((offset, n)) = offset(t, i + 1) {
            return Some((firm(Zone::Fixed(offset)), 1 + n));
        }
        return Some((firm(Zone::utc()), 1));
    }
    let led = beside_time
        || (i > 0 && t[i - 1].is(&["times", "zone", "offset", "time"]))
        || (i > 1 && t[i - 1].is(&["are", "in", "is"]) && t[i - 2].is(&["times", "zone", "offset", "time"]));
    if led {
        if let Some((offset, n)) = offset(t, i) {
            return Some((firm(Zone::Fixed(offset)), n));
        }
        if first.glued && first.text.eq_ignore_ascii_case("z") {
            return Some((firm(Zone::utc()), 1));
        }
    }
    if first.kind != Kind::Word {
        return None;
    }
    // Australia/Hobart
    if is_mark(t.get(i + 1), &["/"]) && t.get(i + 2).is_some_and(|w| w.kind == Kind::Word && w.glued) {
        let mut n = 3;
        while t
            .get(i + n)
            .is_some_and(|w| w.glued && (w.text == "_" || w.text == "/" || w.kind == Kind::Word))
        {
            n += 1;
        }
        let name: String = t[i..i + n].iter().map(|w| w.text).collect();
        if let Some(zone) = zone::place(&name) {
            return Some((firm(zone), n));
        }
    }
    if let Some((options, wary)) = zone::short(first.text)
        && (led || !wary)
    {
        return Some((ZoneSaid { options, firm: false }, 1));
    }
    // "Irish summer time", "Hobart time", "local time Hobart", "Eastern Daylight Time"
    for n in 2..=4 {
        let Some(words) = t.get(i..i + n).filter(|w| w[n - 1].is(&["time"])) else { continue };
        let name = words.iter().map(|w| w.lower.as_ref()).collect::<Vec<_>>().join(" ");
        if let Some(options) = zone::long(&name) {
            return Some((ZoneSaid { options, firm: false }, n));
        }
        if first.text.starts_with(char::is_uppercase)
            && let Some(zone) = zone::place(name.trim_end_matches(" time").trim_end_matches(" local"))
        {
            return Some((firm(zone), n));
        }
    }
    if first.is(&["local"]) && t.get(i + 1).is_some_and(|w| w.is(&["time", "times"])) {
        let mut k = i + 2;
        while is_mark(t.get(k), &[",", "(", ":"]) || t.get(k).is_some_and(|w| w.is(&["in", "at", "for"])) {
            k += 1;
        }
        for n in (1..=3).rev() {
            let Some(words) = t.get(k..k + n) else { continue };
            let name = words.iter().map(|w| w.text).collect::<Vec<_>>().join(" ");
            if let Some(zone) = zone::place(&name) {
                return Some((firm(zone), k + n - i));
            }
        }
    }
    None
}

/// `+10`, `-3`, `+1030`, `+10:30`, `−04:00`: an offset of less than a day, and how many tokens.
fn offset(t: &[Tok<'_>], k: usize) -> Option<(FixedOffset, usize)> {
    let sign = match t.get(k)?.text {
        "+" => 1,
        "-" | "−" | "–" => -1,
        _ => return None,
    };
    let figure = t.get(k + 1).filter(|f| f.kind == Kind::Number && (f.glued || t[k].glued))?;
    let (hours, minutes, n) = match figure.text.len() {
        1 | 2 => {
            let minutes = is_mark(t.get(k + 2).filter(|m| m.glued), &[":"])
                .then(|| t.get(k + 3).filter(|m| m.glued).and_then(|m| m.number(2..=2)))
                .flatten();
            (figure.number(1..=2)?, minutes.unwrap_or(0), if minutes.is_some() { 4 } else { 2 })
        }
        4 => (figure.text[..2].parse().ok()?, figure.text[2..].parse().ok()?, 2),
        _ => return None,
    };
    // No place is further from UTC than this (IANA time zone database).
    if hours > 14 || minutes > 59 {
        return None;
    }
    let seconds = i32::try_from(hours * 3600 + minutes * 60).ok()?;
    Some((FixedOffset::east_opt(sign * seconds)?, n))
}
