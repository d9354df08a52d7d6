//! Times of day: "at nine fifteen", "since 14.30", "by fourteen hundred"; and what only looks like one.

use crate::number::{Form, Run};
use crate::token::{Gap, Kind, Token};
use crate::word::WordList;

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

/// Whether a number is a time of day rather than a measurement, by its form and the words around.
pub(super) fn time_of_day(text: &str, tokens: &[Token<'_>], run: &Run, in_table: bool) -> bool {
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
    // "Burned from five until eleven": two hours of the day.
    let whole = |at: usize| {
        crate::number::atom_at(tokens, at).filter(|a| {
            a.value.fract() == 0.0
                && (1.0..=12.0).contains(&a.value)
                && crate::quantity::unit_at(text, tokens, a.end).is_none()
        })
    };
    let until = |at: usize| {
        tokens.get(at).is_some_and(|t| t.gap <= Gap::Line && t.is_any(words!["until", "till", "til"]))
    };
    let begins = before.is_some_and(|t| t.is_any(words!["from", "since"]))
        && whole(start).is_some_and(|a| until(a.end) && whole(a.end + 1).is_some());
    let ends = start > 1
        && until(start - 1)
        && whole(start).is_some()
        && whole(start - 2).is_some_and(|a| a.end == start - 1);
    // "Burned from ten at night to six".
    let of_the_day = |at: usize| {
        let words = tokens.get(at..at + 2).unwrap_or_default();
        matches!(words, [a, b] if a.gap <= Gap::Line && b.gap <= Gap::Line
            && (a.is("at") && b.is_any(words!["night", "noon"])
                || a.is("last") && b.is("night")))
    };
    let at_night = whole(start).is_some_and(|a| of_the_day(a.end));
    let to_morning = start > 3
        && tokens[start - 1].is_any(words!["to", "till", "until"])
        && of_the_day(start - 3)
        && whole(start - 4).is_some();
    if begins || ends || at_night || whole(start).is_some() && to_morning {
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
    // "Then no wind at six so I motored": what is not there has no figure.
    let calm = start >= 3
        && tokens[start - 1].is("at")
        && tokens[start - 2].is_any(words!["wind", "breeze", "air", "airs"])
        && tokens[start - 3].is_any(words!["no", "little", "without"]);
    if one
        && calm
        && value <= 12.0
        && value.fract() == 0.0
        && crate::quantity::unit_at(text, tokens, end).is_none()
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
        && (led
            || one && value <= 12.0 && value.fract() == 0.0
            || before.is_some_and(|t| t.is_any(words!["past", "'s", "is", "was"])))
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

/// Whether a figure of a clock behind "at" can be no revolutions: they are told in fifties, and a list that has one such time
/// has others ("12.7 V at 2200, 11.6 V at 0510"), as has what is told of the wind ("11 kn at 1150").
fn is_no_speed_of_an_engine(tokens: &[Token<'_>], at: usize) -> bool {
    /// As far as the others may stand, in tokens.
    const REACH: usize = 8;
    let is_clock = |i: usize| {
        let figures = &tokens[i].lower;
        let led = i > 0 && tokens[i - 1].is_any(words!["at", "to"]);
        led && tokens[i].kind == Kind::Number
            && figures.len() == 4
            && figures
                .parse::<u32>()
                .is_ok_and(|n| n < 2400 && n % 100 < 60 && (figures.starts_with('0') || n % 50 != 0))
    };
    let front = || (at.saturating_sub(REACH)..at).rev().take_while(|&i| tokens[i + 1].gap < Gap::Sentence);
    let behind = (at + 1..tokens.len().min(at + REACH)).take_while(|&i| tokens[i].gap < Gap::Sentence);
    let of_wind = front().any(|i| {
        tokens[i].is_any(words!["kn", "kts", "knots"])
            && (i.saturating_sub(4)..i)
                .any(|n| tokens[n].is_any(words!["wind", "gust", "gusts", "gusting", "tws", "aws", "baro"]))
    });
    front().chain(behind).chain([at]).any(is_clock) || of_wind
}

fn engine_talk(tokens: &[Token<'_>], at: usize) -> bool {
    if is_no_speed_of_an_engine(tokens, at) {
        return false;
    }
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
