//! The words of `lexicon/life.toml`, read once.

use std::sync::LazyLock;

use serde::Deserialize;

use crate::found::EventKind;
use crate::lexicon::{BuiltIn, Patterns};

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    fitted: Vec<String>,
    bought: Vec<String>,
    replaced: Vec<String>,
    renewed: Vec<String>,
    repaired: Vec<String>,
    taken_off: Vec<String>,
    undone: Vec<String>,
    announced: Vec<String>,
    night: Vec<String>,
    day: Vec<String>,
    hands: Vec<Hands>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Hands {
    number: u32,
    said: Vec<String>,
}

/// The patterns of the file, by what they are looked for.
pub struct Words {
    /// What was done with gear.
    pub told: Patterns<EventKind>,
    /// Something new given to it.
    pub renewed: Patterns<()>,
    /// Words in front that leave it undone.
    pub undone: Patterns<()>,
    /// A trial that is about to be made.
    pub announced: Patterns<()>,
    /// Whether it is night.
    pub light: Patterns<bool>,
    /// How many did it.
    pub hands: Patterns<u32>,
}

pub static LIFE: LazyLock<Words> = LazyLock::new(|| {
    const CHECKED: &str = "lexicon/life.toml is checked by a test";
    let file: File = toml::from_str(include_str!("../../lexicon/life.toml")).expect(CHECKED);
    let all = [
        (EventKind::Fitted, file.fitted),
        (EventKind::Bought, file.bought),
        (EventKind::Replaced, file.replaced),
        (EventKind::Repaired, file.repaired),
        (EventKind::TakenOff, file.taken_off),
    ];
    let told = all.into_iter().flat_map(|(kind, said)| said.into_iter().map(move |words| (words, kind)));
    let light = [(true, file.night), (false, file.day)]
        .into_iter()
        .flat_map(|(night, said)| said.into_iter().map(move |w| (w, night)));
    let hands =
        file.hands.into_iter().flat_map(|hands| hands.said.into_iter().map(move |w| (w, hands.number)));
    let plain = |said: Vec<String>| Patterns::new(said.into_iter().map(|words| (words, ()))).expect(CHECKED);
    Words {
        told: Patterns::new(told).expect(CHECKED),
        renewed: plain(file.renewed),
        undone: plain(file.undone),
        announced: plain(file.announced),
        light: Patterns::new(light).expect(CHECKED),
        hands: Patterns::new(hands).expect(CHECKED),
    }
});

/// The patterns that are built in.
pub fn built_in() -> Vec<&'static dyn BuiltIn> {
    vec![&LIFE.told, &LIFE.renewed, &LIFE.undone, &LIFE.announced, &LIFE.light, &LIFE.hands]
}
