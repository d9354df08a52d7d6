//! True wind where no log has it by itself: the apparent wind stands in one log and the speed through the water, or the
//! heading, in another.
//!
//! Within one log true wind is worked out from sample to sample as it is read. Across logs, whose clocks and rates
//! differ, it is worked out from the means of a minute, when it is asked for; nothing of it is stored, so that no log
//! that comes, goes or is withdrawn leaves anything stale behind. Such a channel answers only where no other does.

use std::collections::BTreeMap;

use leadsman_index::ChannelRow;
use leadsman_ingest::instrument::minute::Vector;
use leadsman_ingest::instrument::wind::{direction, true_wind};
use leadsman_ingest::instrument::{Channel, ChannelId, Minute, Quantity, Reference};

use super::{Panel, Window};
use crate::error::Error;

/// Keys that no stored channel has: theirs are 48 bits of a hash, and never negative.
const KEYS: [(i64, Quantity); 3] =
    [(-1, Quantity::TrueWindSpeed), (-2, Quantity::TrueWindAngle), (-3, Quantity::WindDirection)];
/// What such a channel is called beside one that was worked out from sample to sample.
pub const INSTANCE: &str = "by the minute";

/// Whether a channel is worked out across logs.
pub fn is_joint(row: &ChannelRow) -> bool {
    row.key < 0
}

/// What a joint channel is worked out from.
pub const FROM: [Quantity; 3] =
    [Quantity::ApparentWindSpeed, Quantity::ApparentWindAngle, Quantity::BoatSpeed];

/// The channels that can be worked out from those that are stored.
pub fn rows(stored: &[ChannelRow]) -> Vec<ChannelRow> {
    // From the first minute that any channel of a quantity has to the last.
    let span = |quantity: Quantity| {
        let of = || stored.iter().filter(|row| row.channel.quantity == quantity);
        Some((of().map(|row| row.first).min()?, of().map(|row| row.last).max()?))
    };
    let both = |a: (i64, i64), b: (i64, i64)| (a.0.max(b.0), a.1.min(b.1));
    let wind = FROM.into_iter().map(span).reduce(|a, b| Some(both(a?, b?))).flatten();
    let Some(wind) = wind else { return Vec::new() };
    let spans = KEYS.into_iter().filter_map(|(key, quantity)| {
        let span = match quantity {
            Quantity::WindDirection => both(wind, span(Quantity::Heading)?),
            _ => wind,
        };
        (span.0 <= span.1).then_some((key, quantity, span))
    });
    let rows = spans.map(|(key, quantity, (first, last))| ChannelRow {
        key,
        channel: Channel {
            quantity,
            reference: match quantity {
                Quantity::WindDirection => Reference::Unsaid,
                _ => Reference::Water,
            },
            source: "computed".to_owned(),
            instance: INSTANCE.to_owned(),
        },
        first,
        last,
        minutes: 0,
        samples: 0,
        logs: 0,
    });
    rows.collect()
}

/// The minutes of a joint channel: those in which everything has samples that it takes.
pub async fn minutes(panel: &Panel<'_>, row: &ChannelRow, window: Window) -> Result<Vec<Minute>, Error> {
    let of = |quantity| panel.by_minute(quantity, window);
    let speed = of(Quantity::ApparentWindSpeed).await?;
    if speed.is_empty() {
        return Ok(Vec::new());
    }
    let angle = of(Quantity::ApparentWindAngle).await?;
    let boat = of(Quantity::BoatSpeed).await?;
    let quantity = row.channel.quantity;
    let heading = match quantity {
        Quantity::WindDirection => of(Quantity::Heading).await?,
        _ => BTreeMap::new(),
    };
    let minutes = speed.into_values().filter_map(|speed| {
        let minute = speed.minute;
        let (angle, boat) = (angle.get(&minute)?, boat.get(&minute)?);
        let wind = true_wind(angle.shown_mean(), speed.mean, boat.mean);
        let (value, count) = match quantity {
            Quantity::TrueWindSpeed => (wind.speed_kn, boat.count),
            Quantity::TrueWindAngle => (wind.angle_deg?, boat.count),
            _ => {
                let heading = heading.get(&minute)?;
                (direction(heading.shown_mean(), wind.angle_deg?), heading.count)
            }
        };
        let turned = (quantity != Quantity::TrueWindSpeed).then(|| {
            let (sin, cos) = value.to_radians().sin_cos();
            Vector { sin, cos }
        });
        // How far it swung within the minute is not known across logs.
        Some(Minute {
            channel: ChannelId(0),
            quantity,
            minute,
            count: speed.count.min(angle.count).min(count),
            min: value,
            mean: value,
            max: value,
            vector: turned,
        })
    });
    Ok(minutes.collect())
}
