//! Numbers that measure nothing: times of day, dates, positions, labels, prices, ages.

use crate::date;
use crate::number::{Form, Run};
use crate::token::{Gap, Kind, Token};
use crate::word::WordList;

mod clock;
mod count;
mod idiom;
mod price;
mod year;

use clock::time_of_day;
use year::is_a_year;

const LABELS: &WordList = words![
    "channel", "channels", "kanal", "ch", "page", "pages", "p", "pg", "no", "number", "nos", "part", "code",
    "chapter", "figure", "fig", "section", "bolt", "slip", "berth", "pier", "clip", "space", "locker",
    "verse", "waypoint", "wpt", "cylinder", "version", "item", "question", "step", "stage", "round", "row",
    "error", "model", "type", "serial", "reef", "gain", "chart", "pin", "fuse", "ref", "psalm", "bus",
    "route", "trial", "trials", "hole", "slot", "notch", "attempt", "try", "station", "article", "grade",
    "group", "class",
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
        || count::is_of_no_quantity(text, tokens, start, end)
        || idiom::is_idle(tokens, start, end)
        || count::is_to_each_side(tokens, end)
        || count::is_an_error(tokens, run)
        || count::is_a_report(text, tokens, run)
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
    // "Luffed three lengths off": of the boat.
    if after
        .is_some_and(|t| t.is("lengths") || t.is("length") && tokens.get(end + 1).is_none_or(|t| !t.is("of")))
    {
        return true;
    }
    // "7  Steering hydraulics", "12 Port winch OPEN": what an entry of a list is counted by.
    if counts_an_entry(text, tokens, run) {
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

/// Whether a run is the number in front of an entry: it begins its line, and two spaces or a tab part it from a name.
fn counts_an_entry(text: &str, tokens: &[Token<'_>], run: &Run) -> bool {
    let range = run.tokens();
    let first = &tokens[range.start];
    let [atom] = run.atoms.as_slice() else { return false };
    // "3. Masthead light", "5) Heater": the number that begins an item.
    if first.gap == Gap::Block && crate::format::is_numbered(&text[first.span.start..]) {
        return true;
    }
    let Some(next) = tokens.get(range.end).filter(|t| t.kind == Kind::Word) else { return false };
    let between = text.get(tokens[range.end - 1].span.end..next.span.start).unwrap_or_default();
    let line = text[..first.span.start].rsplit('\n').next().unwrap_or_default();
    first.kind == Kind::Number
        && first.text.len() <= 2
        && atom.value.fract() == 0.0
        && line.trim().is_empty()
        && (between.len() >= 2 || between == "\t" || next.text.starts_with(char::is_uppercase))
        && between.chars().all(|c| c == ' ' || c == '\t')
        && crate::quantity::unit_at(text, tokens, range.end).is_none()
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
