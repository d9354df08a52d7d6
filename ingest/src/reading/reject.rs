//! Numbers that measure nothing: times of day, dates, positions, labels, prices, ages.

use crate::date;
use crate::number::{Form, Run};
use crate::token::{Gap, Kind, Token};
use crate::word::WordList;

mod count;
mod price;
mod year;

use year::is_a_year;

const LABELS: &WordList = words![
    "channel", "channels", "kanal", "ch", "page", "pages", "p", "pg", "no", "number", "nos", "part", "code",
    "chapter", "figure", "fig", "section", "bolt", "slip", "berth", "pier", "clip", "space", "locker",
    "verse", "waypoint", "wpt", "cylinder", "version", "item", "question", "step", "stage", "round", "row",
    "error", "model", "type", "serial", "reef", "gain", "chart", "pin", "fuse", "ref", "psalm", "bus",
    "route", "attempt", "try", "station", "article", "grade", "group", "class",
];

/// What a machine calls its complaints.
pub(super) const CODES: &WordList = words!["code", "codes", "error", "errors", "err", "fault", "faults"];

/// "stove on 3", "turned the gain down from seven to four": what a knob is set to.
fn set_to(text: &str, tokens: &[Token<'_>], run: &Run) -> bool {
    const REACH: usize = 7;
    let range = run.tokens();
    let start = range.start;
    if run.atoms.iter().any(|a| a.value > 10.0) || crate::quantity::unit_at(text, tokens, range.end).is_some()
    {
        return false;
    }
    let knob =
        |t: &Token<'_>| t.is_any(words!["gain", "squelch", "sensitivity", "volume", "brightness", "dial"]);
    let burner =
        |t: &Token<'_>| t.is_any(words!["stove", "heater", "burner", "fire", "bogey", "position", "setting"]);
    let leads = |t: &Token<'_>| {
        t.kind == Kind::Number
            || crate::number::is_number_word(t)
            || t.is_any(words![
                "up", "down", "back", "from", "to", "at", "on", "of", "was", "is", "'s", "set", "turned",
            ])
    };
    let led = start > 0
        && tokens[start - 1].is_any(words!["from", "to", "at", "on", "of"])
        && tokens[start].gap <= Gap::Line;
    if !led {
        return false;
    }
    let front = (start.saturating_sub(REACH)..start)
        .rev()
        .take_while(|&i| tokens[i + 1].gap < Gap::Clause)
        .find(|&i| !leads(&tokens[i]));
    front.is_some_and(|i| {
        knob(&tokens[i])
            || burner(&tokens[i]) && tokens[start - 1].is_any(words!["on", "at"]) && i + 2 == start
    })
}

/// Whether a run is no measurement.
pub fn rejected(text: &str, tokens: &[Token<'_>], run: &Run, in_table: bool) -> bool {
    let range = run.tokens();
    let (start, end) = (range.start, range.end);
    let near = |at: usize, most: Gap| tokens.get(at).filter(|t| t.gap <= most);
    let before = start.checked_sub(1).map(|i| &tokens[i]);
    let before_near = before.filter(|_| tokens[start].gap <= Gap::Line);
    let after = near(end, Gap::Line);
    let first = &run.atoms[0];
    let value = first.value;

    if price::is_a_price(tokens, start, before_near, after) {
        return true;
    }
    if count::is_a_count(text, tokens, run, before_near, after)
        || count::is_a_swing(tokens, start)
        || count::is_of_so_many(text, tokens, run)
    {
        return true;
    }
    // "Code E 4", "the E four code".
    if before_near.is_some_and(|t| t.text.len() == 1 && t.kind == Kind::Word)
        && (start > 1 && tokens[start - 2].is_any(CODES) || after.is_some_and(|t| t.is_any(CODES)))
    {
        return true;
    }
    // A letter glued in front, "E08", "F24"; a force or gust letter is none of that, nor the unit in "4A2".
    let unit_between = start > 1
        && tokens[start - 1].is("a")
        && tokens[start - 1].gap == Gap::Glued
        && tokens[start - 2].kind == Kind::Number;
    if before_near.is_some_and(|t| {
        tokens[start].gap == Gap::Glued
            && t.kind == Kind::Word
            && !unit_between
            && !t.is_any(words![
                "f", "g", "v", "awa", "aws", "twa", "tws", "sog", "cog", "hdg", "x", "h", "m", "heel", "rh",
                "baro", "depth", "stw", "twd", "rpm", "gust", "wind", "batt", "temp", "co", "soc",
            ])
            && !super::wind::is_point(t)
    }) {
        return true;
    }
    if first.form == Form::Digit
        && value == 0.0
        && before_near
            .is_some_and(|t| t.kind == Kind::Word && t.lower.len() == 1 && !t.is_any(words!["a", "i"]))
    {
        return true;
    }
    // "called on sixteen", "works on 16": a channel of the radio.
    const CHANNELS: &[f64] =
        &[6.0, 8.0, 9.0, 10.0, 12.0, 13.0, 16.0, 67.0, 69.0, 70.0, 71.0, 72.0, 73.0, 77.0];
    if before_near.is_some_and(|t| t.is_any(words!["on", "to"]))
        && CHANNELS.contains(&value)
        && crate::quantity::unit_at(text, tokens, end).is_none()
        && tokens[start.saturating_sub(10)..start].iter().any(|t| {
            t.is_any(words![
                "handheld",
                "vhf",
                "radio",
                "coastguard",
                "channel",
                "listening",
                "called",
                "calling",
                "heard",
                "raised",
                "dsc",
                "marina",
                "port",
            ])
        })
    {
        return true;
    }
    // "a 13 mm spanner": a tool's size.
    if tokens[end..tokens.len().min(end + 2)].iter().any(|t| {
        t.gap <= Gap::Line
            && t.is_any(words!["spanner", "socket", "wrench", "drill", "allen", "spanners", "sockets", "tap"])
    }) && tokens.get(end).is_some_and(|t| {
        t.is_any(words!["mm", "mil", "millimetre", "millimeter", "inch", "spanner", "socket"])
    }) {
        return true;
    }
    // "the block was in two halves".
    let halves = run.atoms.len() == 1 && tokens[end - 1].is("halves");
    if halves || set_to(text, tokens, run) {
        return true;
    }
    // Labels: "channel sixteen", "page 3", "no. 7", "reef two".
    let labelled = before_near.is_some_and(|t| t.is_any(LABELS) || t.is("#"))
        || (before.is_some_and(|t| t.is_any(words!["no", "p", "pp", "ch"]))
            && tokens[start].gap == Gap::Sentence
            && tokens[start].kind == Kind::Number
            && text[before.map_or(0, |t| t.span.end)..tokens[start].span.start].starts_with('.'));
    if labelled
        && !before_near.is_some_and(|t| t.is_any(words!["chart", "no"]))
        && crate::quantity::unit_at(text, tokens, end).is_none()
        && first.form != Form::Fraction
    {
        return true;
    }
    if before_near.is_some_and(|t| t.is("no"))
        && tokens[start].kind == Kind::Number
        && start >= 1
        && text[tokens[start - 1].span.end..tokens[start].span.start].contains('.')
    {
        return true;
    }
    // Dates: "July 4", "16 Aug", "August 2026", "the 26th".
    let month = |t: &Token<'_>| {
        date::month(&t.lower).is_some()
            && (!t.is_any(words!["may", "march", "mar", "sep", "dec"])
                || t.text.starts_with(char::is_uppercase)
                || t.is_any(words!["march"]))
    };
    if after.is_some_and(month)
        && value <= 31.0
        && run.atoms.len() == 1
        && !before_near.is_some_and(|t| t.is_any(words!["to"]))
    {
        return true;
    }
    if before_near.is_some_and(month)
        || (before.is_some_and(|t| date::month(&t.lower).is_some() && t.lower.len() > 3)
            && tokens[start].gap <= Gap::Comma
            && value >= 1900.0)
    {
        return true;
    }
    // Two atoms behind a month name that itself follows a day: "the ninth of July twenty twenty six" (above).
    if after.is_some_and(|t| t.is_any(words!["st", "nd", "rd", "th"]) && t.gap == Gap::Glued) {
        return true;
    }
    // Positions: "48 30 N", "33° 52' S", "forty eight north".
    if position(tokens, end, value)
        || degrees_and_minutes(text, tokens, start)
        || (before_near.is_some_and(|t| t.is_any(words!["lat", "latitude", "long", "longitude", "lon"])))
    {
        return true;
    }
    if before_near.is_some_and(|t| t.is("of"))
        && start >= 2
        && tokens[start - 2].is_any(words!["north", "south", "east", "west"])
        && (30.0..=75.0).contains(&value)
        && !after.is_some_and(|t| t.is_any(words!["miles", "nm", "knots"]))
    {
        return true;
    }
    // Years: "built 1984", "in nineteen ninety-one", "good until twenty thirty", "says 2028".
    if is_a_year(text, tokens, run) {
        return true;
    }
    // Ages: "thirty eight years old".
    if after.is_some_and(|t| t.is_any(words!["years", "year", "months", "weeks"]))
        && tokens
            .get(end + 1)
            .is_some_and(|t| t.gap <= Gap::Line && t.is_any(words!["old", "ago", "younger", "older"]))
    {
        return true;
    }
    if after.is_some_and(|t| {
        t.is_any(words![
            "minutes", "minute", "hours", "hour", "days", "day", "weeks", "week", "nights", "miles",
            "seconds",
        ])
    }) && tokens.get(end + 1).is_some_and(|t| t.gap <= Gap::Line && t.is_any(words!["ago"]))
    {
        return true;
    }
    // "the twenty second" of a month; "in oh nine"; "HW -2"; "one eighteen over seventy four"; "2 x 85 Ah".
    let day = before_near.is_some_and(|t| t.is("the"))
        && after.is_some_and(|t| {
            t.is_any(words!["second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth"])
        });
    let leeway = before_near.is_some_and(|t| t.is_any(words!["leeway"]))
        && crate::quantity::unit_at(text, tokens, end).is_none();
    let tide = leeway || before_near.is_some_and(|t| t.is_any(words!["hw", "lw", "hws", "lws"]));
    let blood = after.is_some_and(|t| t.is("over"))
        && value >= 1.0
        && crate::number::atom_at(tokens, end + 1).is_some_and(|a| a.value >= 50.0);
    let times = after.is_some_and(|t| t.is_any(words!["x", "×"]))
        && tokens.get(end + 1).is_some_and(|t| t.gap <= Gap::Space && t.kind == Kind::Number);
    let short_year = before_near.is_some_and(|t| t.is_any(words!["in", "of"]))
        && first.form == Form::Digit
        && value == 0.0
        && run.atoms.len() == 2;
    let some = after.is_some_and(|t| t.is_any(words!["some", "odd"]))
        && tokens.get(end + 1).is_some_and(|t| t.gap <= Gap::Line && t.kind == Kind::Word)
        && crate::quantity::unit_at(text, tokens, end + 1).is_none();
    if day || tide || blood || times || short_year || some {
        return true;
    }
    // A part's or a form's number: "PT-2", "SCP-173"; an address on the web.
    let part = tokens[start].kind == Kind::Number
        && tokens[start].gap == Gap::Hyphen
        && before.is_some_and(|t| {
            t.kind == Kind::Word
                && !crate::number::is_number_word(t)
                && !t.is_any(words!["force", "f", "bft", "minus", "over", "sub"])
                && t.lower.len() <= 5
                && t.lower.len() > 1
        });
    if part || on_the_web(text, tokens[start].span.start) {
        return true;
    }
    // Counts of a kind: "4 to 1", "x 3", "a hundred and ten little cones" are told by what follows, later.
    if before_near.is_some_and(|t| t.is_any(words!["x", "×"]))
        && run.atoms.len() == 1
        && tokens.get(end).is_none_or(|t| t.gap > Gap::Space || t.kind != Kind::Word)
    {
        return true;
    }
    // "a four by nine", "home by six": an hour.
    if before_near.is_some_and(|t| t.is_any(words!["by", "since", "till", "until"]))
        && run.atoms.len() == 1
        && value <= 12.0
        && value.fract() == 0.0
        && first.form != Form::Fraction
        && crate::quantity::unit_at(text, tokens, end).is_none()
        && !after.is_some_and(|t| t.is_any(words!["percent", "point", "and", "to", "the"]))
    {
        return true;
    }
    time_of_day(text, tokens, run, in_table)
}

/// Whether a place of the text is inside an address such as `https://…?q=30%25`.
fn on_the_web(text: &str, at: usize) -> bool {
    let head = &text.as_bytes()[at.saturating_sub(300)..at];
    let word = head.iter().rposition(u8::is_ascii_whitespace).map_or(head, |i| &head[i + 1..]);
    word.windows(3).any(|w| w == b"://") || word.starts_with(b"www.")
}

fn position(tokens: &[Token<'_>], end: usize, value: f64) -> bool {
    if value > 180.0 {
        return false;
    }
    let mut at = end;
    let glued = |t: &Token<'_>| t.gap <= Gap::Line;
    if tokens.get(at).is_some_and(|t| glued(t) && t.is_any(words!["°", "degrees", "degree", "deg"])) {
        at += 1;
        if tokens.get(at).is_some_and(|t| glued(t) && t.kind == Kind::Number) {
            return true;
        }
    }
    tokens.get(at).is_some_and(|t| {
        glued(t)
            && (matches!(t.text, "N" | "S" | "E" | "W")
                && tokens.get(at + 1).is_none_or(|n| n.kind != Kind::Number)
                && (t.gap == Gap::Glued || value.fract() != 0.0 || t.text != "W")
                && !tokens.get(at + 1).is_some_and(|n| {
                    n.gap <= Gap::Space && n.is_any(words!["panel", "panels", "solar", "bulb"])
                })
                && value > 12.0)
    }) && tokens.get(at).is_some_and(|t| t.text != "W" || t.gap == Gap::Glued && value > 90.0)
}

/// Whether a number is one of two that a hyphen joins to a place: "58-41 N", or "58-39", where no range falls so.
fn degrees_and_minutes(text: &str, tokens: &[Token<'_>], at: usize) -> bool {
    let part = |i: usize| {
        let token = tokens.get(i).filter(|t| t.kind == Kind::Number && (2..=3).contains(&t.text.len()))?;
        token.text.parse::<u32>().ok()
    };
    let second = tokens.get(at).is_some_and(|t| t.gap == Gap::Hyphen);
    let first = if second { at.saturating_sub(1) } else { at };
    let (Some(degrees), Some(minutes)) = (part(first), part(first + 1)) else { return false };
    let behind = tokens.get(first + 2).filter(|t| t.gap <= Gap::Space);
    let hemisphere = behind.is_some_and(|t| matches!(t.text, "N" | "S" | "E" | "W"));
    let falls = minutes < degrees && crate::quantity::unit_at(text, tokens, first + 2).is_none();
    tokens[first + 1].gap == Gap::Hyphen
        && first + 1 >= at
        && degrees <= 180
        && minutes < 60
        && (hemisphere || falls && behind.is_some_and(|t| t.is_any(words!["by", "gps", "dr", "fix", "obs"])))
}

/// Whether revolutions follow a number, or the number that it is the lower end of: "1800 revolutions", "1800-2000 rpm".
fn in_revolutions(text: &str, tokens: &[Token<'_>], end: usize) -> bool {
    let revs = |at: usize| {
        crate::quantity::unit_at(text, tokens, at)
            .is_some_and(|u| u.unit.dimension == crate::quantity::Dimension::Revolutions)
    };
    let Some(next) = tokens.get(end).filter(|t| t.gap <= Gap::Line) else { return false };
    let other = if next.is_any(words!["to", "and", "or", "–"]) {
        Some(end + 1)
    } else {
        (next.gap == Gap::Hyphen).then_some(end)
    };
    revs(end)
        || other
            .and_then(|at| crate::number::atom_at(tokens, at))
            .is_some_and(|a| a.value >= 500.0 && revs(a.end))
}

fn time_of_day(text: &str, tokens: &[Token<'_>], run: &Run, in_table: bool) -> bool {
    let range = run.tokens();
    let (start, end) = (range.start, range.end);
    let before = start.checked_sub(1).map(|i| &tokens[i]).filter(|_| tokens[start].gap <= Gap::Line);
    let after = tokens.get(end).filter(|t| t.gap <= Gap::Line);
    let value = run.atoms[0].value;
    let one = run.atoms.len() == 1;
    if one && in_revolutions(text, tokens, end) {
        return false;
    }
    // "at 9.15", "since 14.30", "14h30": times as they are written in half of Europe.
    let written = tokens[start].lower.as_ref();
    let clock = |hours: &str, minutes: &str| {
        minutes.len() == 2
            && hours.parse::<u32>().is_ok_and(|h| h < 24)
            && minutes.parse::<u32>().is_ok_and(|m| m < 60)
    };
    let clock_led = before.is_some_and(|t| {
        t.is_any(words!["at", "since", "until", "till", "from", "before", "after", "um", "by", "kl"])
    });
    if one
        && clock_led
        && crate::quantity::unit_at(text, tokens, end).is_none()
        && written.split_once('.').is_some_and(|(h, m)| clock(h, m))
        && !engine_talk(tokens, start)
    {
        return true;
    }
    let glued = |n: usize| tokens.get(n).filter(|t| t.gap == Gap::Glued);
    if one
        && glued(end).is_some_and(|t| t.is("h"))
        && glued(end + 1).is_some_and(|m| clock(written, &m.lower))
        && (clock_led || value >= 10.0 || written.starts_with('0'))
    {
        return true;
    }
    // "since 8 h", "from 14 h", "until 18h".
    let hour_led = before.is_some_and(|t| {
        t.is_any(words!["since", "until", "till", "from", "before", "um", "kl", "towards", "toward"])
    });
    if one
        && hour_led
        && value <= 24.0
        && value.fract() == 0.0
        && tokens[start].kind == Kind::Number
        && after.is_some_and(|t| t.is("h"))
    {
        return true;
    }
    if after.is_some_and(|t| t.is_any(words!["uhr", "oclock", "horas"])) && value <= 24.0 {
        return true;
    }
    // "At six it was fifteen".
    let pronoun = after.is_some_and(|t| t.is_any(words!["it", "we", "i", "she", "he", "they", "the"]));
    if one
        && value <= 12.0
        && value.fract() == 0.0
        && pronoun
        && before.is_some_and(|t| t.is("at") && t.gap >= Gap::Sentence)
    {
        return true;
    }
    // "at fourteen hours twenty", "at fourteen hundred".
    let at = before.is_some_and(|t| t.is_any(words!["at", "until", "till", "by"]));
    if at
        && one
        && value <= 24.0
        && value.fract() == 0.0
        && value >= 5.0
        && after.is_some_and(|t| t.is_any(words!["hours", "h"]))
        && before.is_some_and(|t| t.is("at"))
    {
        return true;
    }
    if at
        && one
        && run.atoms[0].form == Form::Large
        && !tokens[range.clone()].iter().any(|t| t.is_any(words!["thousand", "thousands"]))
        && value % 100.0 == 0.0
        && (500.0..=2400.0).contains(&value)
        && !engine_talk(tokens, start)
        && crate::quantity::unit_at(text, tokens, end).is_none()
    {
        return true;
    }
    let led = before.is_some_and(|t| {
        t.is_any(words![
            "at", "since", "by", "until", "till", "from", "before", "after", "about", "around", "to",
            "between",
        ])
    });
    // "at 7.40 pm", "eight in the morning", "four o'clock".
    if after.is_some_and(|t| t.is_any(words!["am", "pm", "o'clock", "oclock"]))
        || (after.is_some_and(|t| t.is_any(words!["a", "p"]))
            && text[tokens[end].span.end..].trim_start_matches('.').trim_start().starts_with('m')
            && tokens.get(end + 1).is_some_and(|t| t.is("m")))
    {
        return true;
    }
    if after.is_some_and(|t| t.is("in"))
        && tokens.get(end + 1).is_some_and(|t| t.gap <= Gap::Line && t.is("the"))
        && tokens
            .get(end + 2)
            .is_some_and(|t| t.gap <= Gap::Line && t.is_any(words!["morning", "evening", "afternoon"]))
        && value <= 24.0
        && (led || before.is_some_and(|t| t.is_any(words!["past", "'s", "is", "was"])))
    {
        return true;
    }
    if after.is_some_and(|t| t.is("this"))
        && one
        && led
        && !before.is_some_and(|t| t.is_any(words!["from", "to", "between"]))
        && tokens.get(end + 1).is_some_and(|t| t.is_any(words!["morning", "evening", "afternoon"]))
        && value <= 12.0
    {
        return true;
    }
    // "at six last night".
    if after.is_some_and(|t| t.is_any(words!["last", "tonight", "yesterday", "tomorrow"]))
        && one
        && led
        && value <= 12.0
        && value.fract() == 0.0
        && tokens
            .get(end + usize::from(tokens[end].is("last")))
            .is_some_and(|t| t.is_any(words!["night", "evening", "tonight", "yesterday", "tomorrow"]))
    {
        return true;
    }
    // "ten past seven", "quarter to eight", "twenty past one", "twenty after one", "ten to six this morning".
    if after.is_some_and(|t| t.is("past"))
        && tokens.get(end + 1).is_some_and(|t| t.gap <= Gap::Line && hour_word(t))
    {
        return true;
    }
    if start >= 2 && tokens[start].gap <= Gap::Line {
        let (to, minutes) = (&tokens[start - 1], &tokens[start - 2]);
        let fives = minutes.is_any(words!["five", "ten", "quarter", "twenty", "half", "10", "20", "25", "5"])
            && to.gap <= Gap::Line;
        // "it never rose past three": no clock does.
        let rose = minutes.is_any(words![
            "rose", "rises", "goes", "went", "go", "gone", "got", "get", "gets", "climbed", "crept", "never",
            "ran",
        ]);
        if to.is("past") && value <= 24.0 && !rose {
            return true;
        }
        if to.is_any(words!["to", "after", "of"]) && value <= 12.0 && one && fives {
            if minutes.is("quarter") {
                return true;
            }
            let minutes_value = match minutes.lower.as_ref() {
                "five" | "5" => 5.0,
                "ten" | "10" => 10.0,
                "twenty" | "20" => 20.0,
                _ => 25.0,
            };
            let said_so = start >= 3
                && tokens[start - 3]
                    .is_any(words!["it", "'s", "is", "at", "until", "till", "about", "okay", "was"]);
            if value < minutes_value && minutes_value <= 25.0 && minutes_value > 5.0
                || (said_so && clock_context(tokens, start - 2))
            {
                return true;
            }
        }
    }
    if after.is_some_and(|t| t.is("to"))
        && one
        && matches!(value as u32, 5 | 10 | 20 | 25)
        && tokens.get(end + 1).is_some_and(|t| t.gap <= Gap::Line && hour_word(t))
        && crate::number::atom_at(tokens, end + 1).is_some_and(|a| {
            a.value <= 12.0
                && (a.value < value || (value <= 25.0 && said_clock(tokens, start)))
                && a.form != Form::Fraction
        })
        && !tokens.get(end + 2).is_some_and(|t| {
            t.gap <= Gap::Line
                && t.is_any(words!["knots", "knot", "kn", "metres", "feet", "degrees", "percent"])
        })
    {
        return true;
    }
    // "half six", "at half twelve".
    if before.is_some_and(|t| t.is("half")) && one && value <= 12.0 && value.fract() == 0.0 {
        return true;
    }
    // The six thirty forecast, at fourteen thirty, at oh six thirty.
    if let [a, b] = run.atoms.as_slice()
        && a.value <= 24.0
        && matches!(b.value as u32, 0 | 5 | 10 | 15 | 20 | 25 | 30 | 35 | 40 | 45 | 50 | 55)
        && matches!(a.form, Form::Digit | Form::Small)
        && b.form == Form::Small
        && (after.is_some_and(|t| t.is_any(words!["forecast", "in", "this", "local"]))
            || clock_verb(tokens, start))
    {
        return true;
    }
    // "at 2130", "from 1500", "0640"; "at 1500" of an engine is revolutions, told by who knows the clause.
    if let [atom] = run.atoms.as_slice()
        && atom.form == Form::Figures(4)
        && tokens[range.end - 1].lower.len() == 4
    {
        let (hours, minutes) = ((value / 100.0).floor(), value % 100.0);
        let clock = hours < 24.0 && minutes < 60.0;
        let zero = tokens[start].lower.starts_with('0');
        if clock && zero {
            return true;
        }
        // A log line that begins with its time.
        if clock
            && !in_table
            && tokens[start].gap == Gap::Block
            && after.is_some()
            && !after.is_some_and(|t| {
                t.is_any(words![
                    "rpm",
                    "revs",
                    "hpa",
                    "mb",
                    "mbar",
                    "for",
                    "=",
                    "millibars",
                    "h",
                    "hours",
                    "w",
                    "m",
                    "ft",
                ])
            })
            && minutes % 5.0 == 0.0
            && !after.is_some_and(|t| t.kind == Kind::Symbol)
        {
            return true;
        }
        // "backstay at 1200 pounds", "kettle from 1800 watts".
        let measured = crate::quantity::unit_at(text, tokens, end)
            .is_some_and(|u| u.unit.dimension != crate::quantity::Dimension::Time);
        if clock
            && led
            && !measured
            && !glass_talk(tokens, start, value)
            && !after.is_some_and(|t| {
                t.is_any(words![
                    "rpm", "revs", "rev", "hpa", "mb", "mbar", "h", "w", "watts", "hours", "miles", "metres",
                    "m", "feet", "ft",
                ])
            })
            && !engine_talk(tokens, start)
        {
            return true;
        }
    }
    if tokens[start].lower.contains(':') {
        return true;
    }
    false
}

/// Whether a barometer is spoken of in front of a figure that it can show: "baro down from 1016 to 1009".
fn glass_talk(tokens: &[Token<'_>], at: usize, value: f64) -> bool {
    (940.0..=1060.0).contains(&value)
        && (1..=8).map_while(|n| at.checked_sub(n)).take_while(|&i| tokens[i + 1].gap < Gap::Sentence).any(
            |i| {
                tokens[i].is_any(words![
                    "baro",
                    "barometer",
                    "barograph",
                    "glass",
                    "pressure",
                    "hpa",
                    "mb",
                    "millibars",
                    "qnh",
                ])
            },
        )
}

fn hour_word(token: &Token<'_>) -> bool {
    token.kind == Kind::Number && token.lower.len() <= 2
        || token.is_any(words![
            "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven",
            "twelve", "midnight", "noon",
        ])
}

fn said_clock(tokens: &[Token<'_>], start: usize) -> bool {
    start >= 1
        && tokens[start].gap <= Gap::Line
        && tokens[start - 1].is_any(words!["'s", "is", "at", "until", "till", "was"])
        && clock_context(tokens, start)
}

/// Whether the words in front are those in front of a time, not of a wind or a sea.
fn clock_context(tokens: &[Token<'_>], at: usize) -> bool {
    !(1..=6).map_while(|n| at.checked_sub(n)).take_while(|&i| tokens[i + 1].gap < Gap::Sentence).any(|i| {
        tokens[i].is_any(words![
            "wind",
            "seas",
            "sea",
            "force",
            "swell",
            "north",
            "south",
            "east",
            "west",
            "forecast",
            "speed",
            "heel",
            "gusts",
            "variable",
            "chop",
            "waves",
            "gusting",
            "northerly",
            "southerly",
            "easterly",
            "westerly",
        ])
    })
}

fn clock_verb(tokens: &[Token<'_>], start: usize) -> bool {
    start >= 1
        && tokens[start].gap <= Gap::Line
        && (tokens[start - 1].is_any(words!["since", "until", "till"])
            || (tokens[start - 1].is("at")
                && start >= 2
                && tokens[start - 2].is_any(words![
                    "up", "left", "started", "starts", "away", "off", "off", "home", "back", "forecast",
                    "fixed",
                ])))
}

fn engine_talk(tokens: &[Token<'_>], at: usize) -> bool {
    // "six knots at eighteen hundred", "2.6 litres an hour at 1800".
    let told = at >= 3
        && tokens[at - 1].is("at")
        && tokens[at - 1].gap <= Gap::Comma
        && tokens[at - 2].is_any(words![
            "knots", "knot", "kn", "kts", "kt", "degrees", "volts", "amps", "amperes", "psi", "pounds",
            "bar", "hot", "cold", "litres", "liters", "hour", "hours", "minutes", "min", "mins", "h", "hr",
            "flat", "c", "v", "ahead", "astern",
        ]);
    if told {
        return true;
    }
    const ENGINE: &WordList = words![
        "engine",
        "rpm",
        "revs",
        "eng",
        "motor",
        "motored",
        "motoring",
        "idle",
        "gear",
        "oil",
        "psi",
        "astern",
        "run",
        "ran",
        "running",
        "throttle",
        "temp",
        "wt",
        "alternator",
        "gearbox",
        "revolutions",
        "turns",
        "prop",
        "drips",
        "bar",
        "diesel",
        "hot",
        "tied",
        "coolant",
        "backed",
        "back",
        "reverse",
        "pulled",
        "set",
        "dug",
        "alternator",
        "amps",
        "amperes",
        "windlass",
    ];
    let back = (1..=12).map_while(|n| at.checked_sub(n)).take_while(|&i| tokens[i + 1].gap < Gap::Block);
    let ahead = (at + 1..at + 8).take_while(|&i| tokens.get(i).is_some_and(|t| t.gap < Gap::Sentence));
    let weather = (1..=3)
        .map_while(|n| at.checked_sub(n))
        .any(|i| tokens[i].is_any(words!["from", "v", "%", "ah", "since", "until", "till", "by"]));
    !weather && back.chain(ahead).any(|i| tokens[i].is_any(ENGINE))
}
