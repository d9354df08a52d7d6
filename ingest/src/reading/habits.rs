//! Habits of a note: in which units its speaker thinks, and what an early remark says of all that follows.

use crate::number::Form;
use crate::quantity::Dimension;
use crate::token::Token;

use super::amount::Amount;

/// What the rest of a note says about its bare numbers.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Habits {
    /// Temperatures without a scale are in Fahrenheit.
    pub fahrenheit: bool,
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
    /// Instruments that were said to show the apparent wind: "the dial says seventeen knots apparent".
    pub apparent_dials: Vec<String>,
    /// The wind is told in forces somewhere.
    pub forces: bool,
    /// Depths and seas without a unit are in feet.
    pub feet: bool,
}

const DIALS: &[&str] =
    &["dial", "display", "handheld", "repeater", "instrument", "anemometer", "masthead", "screen", "readout"];

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
                    .is_some_and(|t| t.is_any(&["in", "out", "outside", "on", "below", "inside"])),
            );
        }
    }
    let mut rig = false;
    for (i, token) in tokens.iter().enumerate() {
        match token.lower.as_ref() {
            "fahrenheit" => f += 3,
            "celsius" | "centigrade" => c += 1,
            "litres" | "litre" | "metres" | "metre" | "euro" | "euros" | "quid" | "colour" | "harbour"
            | "grey" | "tyre" => imperial += 1,
            "£" | "€" => imperial += 2,
            "liters" | "liter" | "meters" | "meter" | "harbor" | "color" | "neighbor" | "gotten" | "mom" => {
                us += 2
            }
            "$" | "dollars" | "psi" => us += 1,
            "gal" | "gpm" | "gph" | "quarts" | "qt" => us += 1,
            "imperial" => imperial += 5,
            "bft" | "beaufort" => habits.forces = true,
            "force" | "gale"
                if tokens.get(i + 1).is_some_and(|t| {
                    crate::number::atom_at(tokens, i + 1).is_some() && t.gap <= crate::token::Gap::Line
                }) =>
            {
                habits.forces = true;
            }
            "percent" | "%" | "cent" => {
                rig |= near(
                    tokens,
                    i,
                    8,
                    &[
                        "cap", "caps", "lowers", "lower", "shroud", "shrouds", "backstay", "inners",
                        "uppers", "rig", "breaking", "stay",
                    ],
                )
            }
            _ => {}
        }
        if token.is_any(&["true", "apparent"]) && governs(tokens, i) {
            habits.all_true |= token.is("true");
            habits.all_apparent |= token.is("apparent");
        }
        if token.is("apparent")
            && let Some(dial) = (1..=8).map_while(|n| i.checked_sub(n)).find(|&k| tokens[k].is_any(DIALS))
        {
            habits.apparent_dials.push(tokens[dial].lower.to_string());
        }
        if token.is_any(&["gps", "plotter"])
            && near(tokens, i, 5, &["everything", "all", "every", "speeds"])
            && near(tokens, i, 4, &["off", "from", "by"])
        {
            habits.all_over_ground = true;
        }
    }
    habits.fahrenheit = f > c && f > 0;
    habits.imperial = imperial > us;
    habits.rig_percent = rig;
    habits.feet = feet > metres;
    habits
}

fn near(tokens: &[Token<'_>], at: usize, reach: usize, words: &[&str]) -> bool {
    tokens[at.saturating_sub(reach)..(at + reach + 1).min(tokens.len())].iter().any(|t| t.is_any(words))
}

/// "the display is on true, so every wind I say is true", "all winds apparent".
fn governs(tokens: &[Token<'_>], at: usize) -> bool {
    let back: Vec<&Token<'_>> = (1..=9).map_while(|n| at.checked_sub(n)).map(|i| &tokens[i]).collect();
    let has = |n: usize, words: &[&str]| back.iter().take(n).any(|t| t.is_any(words));
    let set = has(2, &["on", "to"])
        && has(
            5,
            &[
                "display",
                "repeater",
                "instrument",
                "instruments",
                "dial",
                "readout",
                "plotter",
                "set",
                "screen",
                "wind",
            ],
        );
    let every = has(9, &["every", "all", "any", "everything"])
        && has(9, &["wind", "winds"])
        && has(3, &["is", "are", "'s", "as", "wind", "winds", "figures", "numbers", "speeds"]);
    set || every
}
