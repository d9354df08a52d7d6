//! Which of several channels answers for a quantity.
//!
//! In this order:
//! 1. the sender that `settings.toml` names for the quantity under `[answers]`, where it has samples in the window;
//! 2. one that an instrument sent, before one that was worked out here; of those, one from a single log before one from
//!    the minutes of several;
//! 3. by reference, as [`references`] orders them for the quantity;
//! 4. the one with samples in more of the window's minutes, then the one with more samples;
//! 5. by the sender's name, so that the answer is always the same.

use std::cmp::Reverse;
use std::collections::BTreeMap;

use leadsman_index::ChannelRow;
use leadsman_ingest::instrument::{Minute, Quantity, Reference};

use super::is_joint;
use crate::error::{Error, did_you_mean};

/// Senders by the quantity that they answer for.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Answers(Vec<(Quantity, String)>);

impl Answers {
    /// Reads the settings' `[answers]`: name of a quantity, then a sender (`SDVHW`), with its instance behind it where
    /// there are several (`n2k:3/127508 house`). Errors: a name that no quantity of instruments has.
    pub fn new(settings: &BTreeMap<String, String>) -> Result<Self, Error> {
        let mut list = Vec::new();
        for (name, sender) in settings {
            let quantity = Quantity::from_name(name).ok_or_else(|| {
                let names = || Quantity::ALL.iter().map(|quantity| quantity.name());
                let error = Error::wrong_use(format!(
                    "settings.toml: expected a quantity of instruments under [answers], found \"{name}\""
                ));
                match did_you_mean(name, names()) {
                    Some(meant) => error.hint(format!("did you mean {meant}?")),
                    None => error.hint("`leadsman channels` lists those that there are"),
                }
            })?;
            list.push((quantity, sender.trim().to_owned()));
        }
        Ok(Self(list))
    }

    /// Whether the settings name a channel.
    fn name(&self, row: &ChannelRow) -> bool {
        let channel = &row.channel;
        self.0.iter().any(|(quantity, sender)| {
            *quantity == channel.quantity
                && (*sender == channel.source
                    || *sender == format!("{} {}", channel.source, channel.instance))
        })
    }

    /// The channel that answers, of those of one quantity with their minutes in a window; those without minutes don't.
    pub fn choose<'a>(
        &self,
        candidates: impl IntoIterator<Item = (&'a ChannelRow, Vec<Minute>)>,
    ) -> Option<(&'a ChannelRow, Vec<Minute>)> {
        candidates.into_iter().filter(|(_, minutes)| !minutes.is_empty()).min_by_key(|(row, minutes)| {
            let channel = &row.channel;
            let order = references(channel.quantity);
            let reference = order.iter().position(|&reference| reference == channel.reference);
            let samples: u64 = minutes.iter().map(|minute| u64::from(minute.count)).sum();
            (
                !self.name(row),
                (channel.source == "computed", is_joint(row)),
                reference.unwrap_or(usize::MAX),
                Reverse(minutes.len()),
                Reverse(samples),
                (channel.source.clone(), channel.instance.clone()),
            )
        })
    }
}

/// The references of a quantity, the one that answers first before the others.
pub fn references(quantity: Quantity) -> &'static [Reference] {
    use Reference as R;
    match quantity {
        Quantity::TrueWindSpeed | Quantity::TrueWindAngle => &[R::Water, R::Unsaid, R::Ground],
        Quantity::WindDirection | Quantity::Heading | Quantity::CourseOverGround => {
            &[R::True, R::Magnetic, R::Unsaid, R::Compass]
        }
        // What a skipper reads off and says is mostly the depth of water, else what the sounder itself shows.
        Quantity::WaterDepth => &[R::Surface, R::Transducer, R::Unsaid, R::Keel],
        _ => &[R::Unsaid, R::Water, R::Ground, R::True],
    }
}

#[cfg(test)]
mod tests {
    use leadsman_ingest::instrument::{Channel, ChannelId};

    use super::*;

    fn row(source: &str, reference: Reference) -> ChannelRow {
        ChannelRow {
            key: 1,
            channel: Channel {
                quantity: Quantity::TrueWindSpeed,
                reference,
                source: source.to_owned(),
                instance: String::new(),
            },
            first: 0,
            last: 9,
            minutes: 10,
            samples: 600,
            logs: 1,
        }
    }

    fn minutes(n: i64) -> Vec<Minute> {
        let quantity = Quantity::TrueWindSpeed;
        (0..n)
            .map(|minute| Minute {
                channel: ChannelId(0),
                quantity,
                minute,
                count: 60,
                min: 9.0,
                mean: 10.0,
                max: 11.0,
                vector: None,
            })
            .collect()
    }

    #[test]
    fn the_rule_in_its_order() {
        let (sent, over_ground) = (row("WIMWV", Reference::Water), row("IIVWT", Reference::Ground));
        let (worked_out, twin) = (row("computed", Reference::Water), row("IIMWV", Reference::Water));
        let choose = |answers: &Answers, list: &[(&ChannelRow, i64)]| {
            let list: Vec<_> = list.iter().map(|&(row, n)| (row, minutes(n))).collect();
            answers.choose(list).map(|(row, _)| row.channel.source.clone())
        };
        let none = Answers::default();
        assert_eq!(choose(&none, &[(&worked_out, 9), (&over_ground, 2)]).as_deref(), Some("IIVWT"));
        assert_eq!(choose(&none, &[(&over_ground, 9), (&sent, 2)]).as_deref(), Some("WIMWV"));
        assert_eq!(choose(&none, &[(&sent, 2), (&twin, 9)]).as_deref(), Some("IIMWV"));
        assert_eq!(choose(&none, &[(&sent, 9), (&twin, 9)]).as_deref(), Some("IIMWV"));
        assert_eq!(choose(&none, &[(&sent, 0)]), None);
        let asked = BTreeMap::from([("true_wind_speed".to_owned(), "computed".to_owned())]);
        let asked = Answers::new(&asked).expect("a quantity");
        assert_eq!(choose(&asked, &[(&worked_out, 1), (&sent, 9)]).as_deref(), Some("computed"));
        assert_eq!(choose(&asked, &[(&worked_out, 0), (&sent, 9)]).as_deref(), Some("WIMWV"));
    }

    #[test]
    fn a_wrong_name_in_the_settings_is_told() {
        let wrong = BTreeMap::from([("boat_sped".to_owned(), "SDVHW".to_owned())]);
        let error = Answers::new(&wrong).expect_err("no such quantity");
        assert_eq!(error.hint.as_deref(), Some("did you mean boat_speed?"));
    }
}
