//! What an item needs of a day out: `needs.toml`, by the gear's group, the gear, and the item's own words.

use std::sync::LazyLock;

use leadsman_ingest::gear;
use serde::{Deserialize, Serialize};

/// Where something can be done, in the order in which a day out passes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Place {
    /// Alongside, before casting off.
    Dock,
    /// Under way in sheltered water.
    UnderWay,
    /// Under way with room and sea.
    OpenWater,
    /// At anchor.
    Anchor,
}

/// What an item needs of a day out.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Needs {
    /// Where.
    pub place: Place,
    /// Least and most wind, in kn; `None` where any will do.
    pub wind_kn: Option<(f64, f64)>,
    /// How long, in h.
    pub hours: f64,
    /// That it wants the dark.
    pub night: bool,
    /// That it wants a cold day.
    pub cold: bool,
    /// How many hands it wants.
    pub hands: u32,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    default: Rule,
    need: Vec<Rule>,
}

#[derive(Clone, Debug, Default, Deserialize)]
#[serde(deny_unknown_fields)]
struct Rule {
    group: Option<String>,
    gear: Option<String>,
    #[serde(default)]
    words: Vec<String>,
    place: Option<Place>,
    wind_kn: Option<(f64, f64)>,
    hours: Option<f64>,
    night: Option<bool>,
    cold: Option<bool>,
    hands: Option<u32>,
}

static FILE: LazyLock<File> = LazyLock::new(|| {
    toml::from_str(include_str!("needs.toml")).expect("outing/needs.toml is checked by a test")
});

impl Needs {
    /// What a trial of a gear needs, with what its words add.
    pub fn of(name: Option<&str>, words: &str) -> Self {
        let mut needs = Self::nothing();
        needs.add(&FILE.default);
        let known = name.and_then(gear::by_name);
        for rule in &FILE.need {
            let group = rule.group.as_deref().is_some_and(|group| known.is_some_and(|g| g.group == group));
            let own = rule.gear.as_deref().is_some_and(|gear| known.is_some_and(|g| g.name == gear));
            if group || own {
                needs.add(rule);
            }
        }
        needs.say(words);
        needs
    }

    /// What work needs: the dock, with what its words add.
    pub fn of_work(words: &str) -> Self {
        let mut needs = Self::nothing();
        needs.add(&FILE.default);
        needs.say(words);
        needs.place = Place::Dock;
        needs.wind_kn = None;
        needs
    }

    fn nothing() -> Self {
        Self { place: Place::Dock, wind_kn: None, hours: 1.0, night: false, cold: false, hands: 1 }
    }

    fn say(&mut self, words: &str) {
        let words = words.to_lowercase();
        // By whole words: "heel" is not in "wheel".
        let has = |said: &String| {
            words.match_indices(said.as_str()).any(|(at, found)| {
                let edge = |c: Option<char>| !c.is_some_and(char::is_alphanumeric);
                edge(words[..at].chars().next_back()) && edge(words[at + found.len()..].chars().next())
            })
        };
        for rule in FILE.need.iter().filter(|rule| rule.words.iter().any(has)) {
            self.add(rule);
        }
    }

    fn add(&mut self, rule: &Rule) {
        self.place = rule.place.unwrap_or(self.place);
        self.wind_kn = rule.wind_kn.or(self.wind_kn);
        self.hours = rule.hours.unwrap_or(self.hours);
        self.night |= rule.night.unwrap_or(false);
        self.cold |= rule.cold.unwrap_or(false);
        self.hands = rule.hands.unwrap_or(self.hands);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Facts of the trade: which gear is tried where. Common practice, no source.
    #[test]
    fn every_rule_is_of_something_and_within_reason() {
        for rule in &FILE.need {
            let of = usize::from(rule.group.is_some())
                + usize::from(rule.gear.is_some())
                + usize::from(!rule.words.is_empty());
            assert_eq!(of, 1, "{rule:?}");
            if let Some(group) = &rule.group {
                assert!(gear::all().iter().any(|g| g.group == *group), "{group}");
            }
            if let Some(name) = &rule.gear {
                assert!(gear::by_name(name).is_some_and(|g| g.name == *name), "{name}");
            }
            if let Some((least, most)) = rule.wind_kn {
                assert!(least < most && most <= 30.0, "{rule:?}: nobody is sent out to practise in more");
            }
            assert!(rule.hours.is_none_or(|h| h > 0.0 && h <= 12.0));
        }
        for gear in gear::all() {
            assert!(
                FILE.need.iter().any(|r| r.group.as_deref() == Some(&gear.group)),
                "{} has no rule",
                gear.group
            );
        }
    }

    #[test]
    fn the_gear_and_then_the_words_decide() {
        let reef = Needs::of(Some("second reef"), "second reef jammed");
        assert_eq!((reef.place, reef.wind_kn), (Place::UnderWay, Some((18.0, 27.0))));
        let heater = Needs::of(Some("heater"), "goes out at anchor, all night");
        assert_eq!((heater.place, heater.hours, heater.night), (Place::Anchor, 8.0, true));
        assert_eq!(Needs::of(Some("wheel"), "the wheel is stiff").wind_kn, Some((8.0, 22.0)));
        assert_eq!(Needs::of_work("leather the oars in the dark").place, Place::Dock);
    }
}
