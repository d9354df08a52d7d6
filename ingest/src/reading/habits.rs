//! Habits of a note: in which units its speaker thinks, and what an early remark says of all that follows.

use std::sync::LazyLock;

use crate::lexicon::{WordMap, Words};
use crate::number::Form;
use crate::quantity::{Dimension, UnitAt};
use crate::token::{Gap, Token};
use crate::word::WordList;

use super::amount::Amount;

/// What the rest of a note says about its bare numbers.
#[derive(Clone, Debug, Default)]
pub struct Habits {
    /// Temperatures without a scale are in Fahrenheit.
    pub fahrenheit: bool,
    /// What speaks for Fahrenheit in words and units, less what speaks for Celsius.
    pub fahrenheit_points: i32,
    /// Gallons, quarts and pints are imperial.
    pub imperial: bool,
    /// Winds without a word are true, because the speaker says so once for all.
    pub all_true: bool,
    /// The same, apparent.
    pub all_apparent: bool,
    /// Boat speeds are read off the satellite receiver, because the speaker says so once for all.
    pub all_over_ground: bool,
    /// Bare tensions of the rig are per cent.
    pub rig_percent: bool,
    /// A tension gauge is spoken of.
    pub gauge: bool,
    /// Instruments that were said to show the apparent wind: "the dial says seventeen knots apparent".
    pub apparent_dials: Vec<String>,
    /// The wind is told in forces somewhere.
    pub forces: bool,
    /// The batteries are of twenty-four volts.
    pub high_bank: bool,
    /// Winds without a unit are in metres a second.
    pub winds_in_metres: bool,
    /// Depths and seas without a unit are in feet.
    pub feet: bool,
    /// The unit in which the rig's loads are told, where one is said.
    pub rig_load: Option<UnitAt>,
    /// What the log is said to show are miles run, which only grow.
    pub log_counts_miles: bool,
}

const DIALS: &WordList = words![
    "dial",
    "display",
    "handheld",
    "repeater",
    "instrument",
    "anemometer",
    "masthead",
    "screen",
    "readout"
];

/// What a word tells of its speaker's habits.
#[derive(Clone, Copy, Debug)]
enum Speaks {
    /// Points for Fahrenheit; for Celsius where they are below nought.
    Fahrenheit(i32),
    /// Points for imperial gallons.
    Imperial(i32),
    /// Points for American ones.
    American(i32),
    /// A gauge.
    Gauge,
    /// Winds are told in forces.
    Forces,
    /// The same, where a number follows.
    Force,
    /// A share, perhaps of the rig's tension.
    Percent,
}

static SPEAKS: LazyLock<WordMap<Speaks>> = LazyLock::new(|| {
    let all = [
        ("fahrenheit", Speaks::Fahrenheit(3)),
        ("celsius centigrade", Speaks::Fahrenheit(-1)),
        ("litres litre metres metre euro euros quid colour harbour grey tyre", Speaks::Imperial(1)),
        ("£ €", Speaks::Imperial(2)),
        ("imperial", Speaks::Imperial(5)),
        ("liters liter meters meter harbor color neighbor gotten mom", Speaks::American(2)),
        ("$ dollars psi gal gpm gph quarts qt", Speaks::American(1)),
        ("gauge loos", Speaks::Gauge),
        ("bft beaufort", Speaks::Forces),
        ("force gale", Speaks::Force),
        ("percent % cent", Speaks::Percent),
    ];
    WordMap::new(all.into_iter().flat_map(|(words, speaks)| words.split(' ').map(move |word| (word, speaks))))
});

/// Reads the habits of a note from its tokens and amounts.
pub fn habits(tokens: &[Token<'_>], amounts: &[Amount]) -> Habits {
    let mut habits = Habits::default();
    let (mut f, mut c, mut us, mut imperial, mut feet, mut metres) = (0, 0, 0, 0, 0, 0);
    for amount in amounts {
        let Some(unit) = amount.unit else { continue };
        match unit.unit.symbol.as_str() {
            "degF" => f += 3,
            "degC" => c += 1,
            "psi" | "inHg" => f += 1,
            "US gal" => us += 5,
            "Imp gal" => imperial += 5,
            "stone" => imperial += 2,
            "ft" => feet += 1,
            "m" => metres += 1,
            "V" => {
                habits.high_bank |=
                    amount.run.candidates().first().is_some_and(|c| (22.0..=30.0).contains(&c.low));
            }
            _ => {}
        }
        if unit.unit.dimension == Dimension::Degree
            && let [atom] = amount.run.atoms.as_slice()
            && (46.0..=99.0).contains(&atom.value)
            && !matches!(atom.form, Form::Decimal(_))
        {
            // Could be an angle; the words decide below.
            f += i32::from(
                tokens
                    .get(amount.tokens.end)
                    .is_some_and(|t| t.is_any(words!["in", "out", "outside", "on", "below", "inside"])),
            );
        }
    }
    let mut rig = false;
    for (i, token) in tokens.iter().enumerate() {
        match SPEAKS.get(token) {
            Some(&Speaks::Fahrenheit(points)) => f += points,
            Some(&Speaks::Imperial(points)) => imperial += points,
            Some(&Speaks::American(points)) => us += points,
            Some(Speaks::Gauge) => habits.gauge = true,
            Some(Speaks::Forces) => habits.forces = true,
            Some(Speaks::Force) => {
                habits.forces |= tokens.get(i + 1).is_some_and(|t| t.gap <= Gap::Line)
                    && crate::number::atom_at(tokens, i + 1).is_some();
            }
            Some(Speaks::Percent) => {
                rig |= near(
                    tokens,
                    i,
                    8,
                    words![
                        "cap", "caps", "lowers", "lower", "shroud", "shrouds", "backstay", "inners",
                        "uppers", "rig", "breaking", "stay",
                    ],
                )
            }
            None => {}
        }
        if token.is_any(words!["true", "apparent"]) && governs(tokens, i, &WIND, amounts) {
            habits.all_true |= token.is("true");
            habits.all_apparent |= token.is("apparent");
        }
        if (token.is_any(words!["gps", "sog", "plotter"])
            || (token.is("ground") && i > 1 && tokens[i - 2].is("over")))
            && governs(tokens, i, &SPEED, amounts)
        {
            habits.all_over_ground = true;
        }
        if token.is("apparent")
            && let Some(dial) = (1..=8).map_while(|n| i.checked_sub(n)).find(|&k| tokens[k].is_any(DIALS))
        {
            habits.apparent_dials.push(tokens[dial].lower.to_string());
        }
    }
    habits.fahrenheit_points = f - c;
    // Who measures in metres has pints from the British, if any.
    habits.imperial = imperial + i32::from(metres > feet) > us;
    habits.rig_percent = rig;
    habits.feet = feet > metres;
    habits.log_counts_miles = count_miles(tokens, amounts);
    habits
}

/// The amounts without a unit that stand right behind the log: "log 12.4", "log reads 5.6".
pub(super) fn of_the_log(tokens: &[Token<'_>], amount: &Amount) -> bool {
    let back = |n: usize| amount.tokens.start.checked_sub(n).filter(|&i| tokens[i + 1].gap <= Gap::Clause);
    let verb = |i: usize| tokens[i].is_any(words!["reads", "reading", "shows", "'s", "is"]);
    amount.unit.is_none()
        && amount.other.is_none()
        && back(1)
            .is_some_and(|i| tokens[i].is("log") || verb(i) && back(2).is_some_and(|i| tokens[i].is("log")))
}

/// Whether the figures of the log are miles run: three or more that never fall and at least double, or more than any boat
/// makes in an hour.
fn count_miles(tokens: &[Token<'_>], amounts: &[Amount]) -> bool {
    /// What no cruising boat's log shows as its speed, knots. Common practice, no source.
    const FASTEST: f64 = 16.0;
    let shown = amounts.iter().filter(|a| of_the_log(tokens, a));
    let shown: Vec<f64> = shown.filter_map(|a| a.run.candidates().first().map(|c| c.low)).collect();
    let (Some(first), Some(last)) = (shown.first(), shown.last()) else { return false };
    let grows = shown.len() >= 3 && shown.is_sorted() && *last >= 2.0 * first;
    grows || shown.iter().any(|&miles| miles > FASTEST)
}

fn near(tokens: &[Token<'_>], at: usize, reach: usize, words: &WordList) -> bool {
    tokens[at.saturating_sub(reach)..(at + reach + 1).min(tokens.len())].iter().any(|t| t.is_any(words))
}

static WIND: Words =
    Words::new("wind winds display repeater instrument instruments dial readout anemometer masthead");
static SPEED: Words = Words::new("speed speeds log paddle paddlewheel everything knots impeller transducer");
/// Words that make a remark hold for all that follows.
static GOVERNS: Words = Words::new(
    "every all always unless everything only any otherwise display repeater set switched mean means dead broken stuck noted \
     figures numbers values readings throughout below given quoted quote logged written recorded stated speeds winds wherever",
);

/// "the display is on true, so every wind I say is true", "all speeds are over the ground": said once for all that
/// follows, with no number beside it.
fn governs(tokens: &[Token<'_>], at: usize, about: &Words, amounts: &[Amount]) -> bool {
    let ends = |i: usize| tokens[i].gap >= Gap::Sentence;
    let mut from = at;
    while from > 0 && at - from < 12 && !ends(from) {
        from -= 1;
    }
    let mut to = at + 1;
    while to < tokens.len() && to - at < 12 && !ends(to) {
        to += 1;
    }
    let window = &tokens[from..to];
    // A number of the next sentence is told as the remark says, and does not stand beside it.
    let close = amounts.partition_point(|a| a.tokens.end + 7 <= at);
    let numbered =
        amounts.get(close).is_some_and(|a| a.tokens.start < (at + 7).min(to) && a.tokens.end > from);
    let back = |n: usize, words: &WordList| {
        (1..=n).filter_map(|k| at.checked_sub(k)).any(|i| tokens[i].is_any(words))
    };
    // In so many words, whatever figures stand beside it.
    let every = back(6, words!["every", "all", "any"])
        && back(6, words!["wind", "winds", "speeds", "speed"])
        && back(2, words!["is", "are", "'s", "as", "by", "the", "from"]);
    let set = back(2, words!["on", "to", "in"])
        && back(
            6,
            words![
                "display",
                "repeater",
                "instrument",
                "instruments",
                "dial",
                "readout",
                "anemometer",
                "screen",
                "set",
                "switched",
            ],
        );
    if every || (set && tokens[at].is_any(words!["true", "apparent"])) {
        return true;
    }
    let has = |words: &WordList| window.iter().any(|t| t.is_any(words));
    let flavour = tokens[at].is_any(words!["true", "apparent"]);
    // "Wind speeds are true, in knots", "Wind: true": said of all of them, with no number beside it.
    let ends = tokens.get(to).is_none_or(|t| t.gap >= Gap::Sentence);
    let stated = flavour
        && ends
        && window.len() <= 12
        && (has(words!["is", "are", "'s", "give", "gives", "giving", "reading", "reads"])
            || (from + 1..=at).any(|i| tokens[i].gap == Gap::Clause))
        && !has(words![
            "was",
            "were",
            "if",
            "not",
            "would",
            "could",
            "which",
            "than",
            "between",
            "from",
            "hard",
            "difference",
        ]);
    // "we have it on true", "switched it to true".
    let switched = flavour
        && back(1, words!["on", "to"])
        && has(words![
            "it",
            "display",
            "dial",
            "set",
            "switched",
            "turned",
            "got",
            "have",
            "put",
            "instruments",
            "switch",
        ])
        && tokens.get(at + 1).is_none_or(|t| {
            t.gap >= Gap::Line || t.is_any(words!["now", "all", "today", "so", "wind", "and"])
        });
    if switched && !numbered {
        return true;
    }
    !numbered && window.iter().any(|t| about.has(t)) && (window.iter().any(|t| GOVERNS.has(t)) || stated)
}
