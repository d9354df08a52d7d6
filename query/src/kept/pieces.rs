//! The pieces, each with what it takes to tell whether it answers for a day.

use std::borrow::Cow;

use chrono::NaiveDate;
use leadsman_index::Store;
use leadsman_ingest::Span;
use leadsman_ingest::matter::{ClosedBy, Days, Ledger, Matter};
use serde::{Deserialize, Serialize};

use super::{Opening, Piece};
use crate::announced::{Announced, announced};
use crate::beside::Beside;
use crate::boat::{Boat, Day, Spoken};
use crate::envelope::{Axis, Envelopes, Gap, Need};
use crate::error::Error;
use crate::instruments::Panel;
use crate::open_item::{OpenList, Voyage};
use crate::proved::{LastWords, ProvedList};
use crate::reckon::Figure;
use crate::reckon::budget::{Short, short_of};
use crate::register::Register;

/// Which notes and decisions a piece was made from: all that there were.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub(super) struct Seen {
    /// How many notes.
    pub(super) notes: usize,
    /// The day of the last thing told; from that day on, an answer as of a day is one of all notes.
    last: Option<NaiveDate>,
}

impl Seen {
    fn of(boat: &Boat, day: Day) -> Self {
        Self { notes: boat.notes_by(day).count(), last: boat.last_told() }
    }

    /// Whether as of a day all of them count.
    pub(super) fn all(&self, day: Day) -> bool {
        !day.asked || self.last.is_none_or(|last| last <= day.on)
    }
}

/// All matters.
#[derive(PartialEq, Serialize, Deserialize)]
pub(super) struct MattersPiece {
    pub(super) seen: Seen,
    /// On which they stand so.
    pub(super) days: Days,
    pub(super) ledger: Ledger,
}

impl Piece for MattersPiece {
    const NAME: &'static str = "matters";
}

impl MattersPiece {
    pub(super) fn new(boat: &Boat, day: Day) -> Self {
        let (ledger, days) = boat.folded(day, None);
        Self { seen: Seen::of(boat, day), days, ledger }
    }
}

/// What the first screen shows.
#[derive(PartialEq, Serialize, Deserialize)]
pub(super) struct OpenPiece {
    pub(super) seen: Seen,
    pub(super) days: Days,
    /// Whether the home has instruments. What they say is not kept.
    pub(super) instruments: bool,
    voyage: Voyage,
    spoken: Vec<Spoken>,
    /// Of the closed matters only those that may yet be confirmed; the open ones with their whole stories.
    ledger: Ledger,
    left_out: usize,
    short: Result<Vec<ShortPiece>, String>,
    gaps: Vec<GapPiece>,
    announced: Vec<Announced>,
}

impl Piece for OpenPiece {
    const NAME: &'static str = "open";
}

impl OpenPiece {
    pub(super) async fn new(
        store: &Store,
        boat: &Boat,
        MattersPiece { ledger: all, days, .. }: &MattersPiece,
        day: Day,
    ) -> Result<Self, Error> {
        let mut open = all.open.clone();
        for (matter, story) in open.iter_mut().zip(all.stories()) {
            matter.earlier = story;
        }
        let unconfirmed = |matter: &&Matter| matter.closed.as_ref().is_some_and(ClosedBy::unconfirmed);
        let closed: Vec<Matter> = all.closed.iter().filter(unconfirmed).cloned().collect();
        let panel = Panel::open(store, chrono_tz::Tz::UTC).await?;
        let instruments = !panel.is_empty();
        let short = match instruments {
            true => Ok(Vec::new()),
            false => short_of(boat, &panel, store.record(), day).await.map_err(|error| error.to_string()),
        };
        Ok(Self {
            seen: Seen::of(boat, day),
            days: *days,
            instruments,
            voyage: boat.voyage(day, None),
            spoken: boat.spoken().to_vec(),
            left_out: all.closed.len() - closed.len(),
            ledger: Ledger { open, closed, dismissed: all.dismissed.clone() },
            short: short.map(|short| short.iter().map(ShortPiece::of).collect()),
            gaps: Envelopes::new(boat, day).gaps().iter().map(GapPiece::of).collect(),
            // How long ago that is depends on the day that it is asked of.
            announced: announced(boat, day)
                .into_iter()
                .map(|one| Announced { days_ago: None, ..one })
                .collect(),
        })
    }

    #[cfg(test)]
    pub(super) fn forget_one(&mut self) {
        self.ledger.open.pop();
    }

    /// The answer as of a day, with all matters where they are given. `None`: a figure has a unit of another program.
    pub(super) fn opening(self, day: Day, all: Option<Ledger>, proved: ProvedList) -> Option<Opening> {
        let spoken: Vec<&Spoken> = self.spoken.iter().collect();
        let list = match all {
            Some(ledger) => OpenList::told(ledger, &spoken, self.voyage, day.on, self.seen.notes, 0),
            None => {
                let left_out = self.left_out;
                OpenList::without(self.ledger, left_out, &spoken, self.voyage, day.on, self.seen.notes, 0)
            }
        };
        let days_ago = |on: NaiveDate| (day.on - on).num_days();
        let announced =
            self.announced.into_iter().map(|one| Announced { days_ago: one.on.map(days_ago), ..one });
        let short = match self.short {
            Ok(short) => Ok(short.into_iter().map(ShortPiece::short).collect::<Option<_>>()?),
            Err(why) => Err(why),
        };
        let beside = Beside {
            gaps: self.gaps.into_iter().map(GapPiece::gap).collect(),
            never_tried: proved.never_tried().into_iter().cloned().collect(),
            announced: announced.collect(),
        };
        Some(Opening { list, short, beside })
    }
}

/// The register of gear.
#[derive(PartialEq, Serialize, Deserialize)]
pub(super) struct GearPiece {
    pub(super) seen: Seen,
    pub(super) register: Register,
}

impl Piece for GearPiece {
    const NAME: &'static str = "gear";
}

impl GearPiece {
    pub(super) fn new(boat: &Boat, day: Day) -> Self {
        let mut register = Register::new(boat, day);
        register.forget_places();
        Self { seen: Seen::of(boat, day), register: Register { on: NaiveDate::MIN, ..register } }
    }
}

/// What must be proved.
#[derive(PartialEq, Serialize, Deserialize)]
pub(super) struct ProvedPiece {
    pub(super) seen: Seen,
    pub(super) voyage: Voyage,
    pub(super) words: LastWords,
}

impl Piece for ProvedPiece {
    const NAME: &'static str = "proved";
}

impl ProvedPiece {
    pub(super) fn new(boat: &Boat, day: Day) -> Self {
        Self { seen: Seen::of(boat, day), voyage: boat.voyage(day, None), words: LastWords::new(boat, day) }
    }
}

/// A number bit for bit: as decimal digits it may come back as its neighbour.
#[derive(Clone, Copy, PartialEq, Serialize, Deserialize)]
struct Bits(u64);

impl From<f64> for Bits {
    fn from(value: f64) -> Self {
        Self(value.to_bits())
    }
}

impl From<Bits> for f64 {
    fn from(bits: Bits) -> Self {
        f64::from_bits(bits.0)
    }
}

/// A [`Gap`].
#[derive(PartialEq, Serialize, Deserialize)]
struct GapPiece {
    gear: String,
    summary: String,
    needed: Vec<(Axis, Bits, Bits)>,
    text: String,
    covered: bool,
    gap: String,
    quote: String,
    from: String,
    span: Option<Span>,
}

impl GapPiece {
    fn of(gap: &Gap) -> Self {
        let Need { needed, text, covered, gap: why, quote, from, span } = gap.need.clone();
        Self {
            gear: gap.gear.clone(),
            summary: gap.summary.clone(),
            needed: needed.into_iter().map(|(axis, (from, to))| (axis, from.into(), to.into())).collect(),
            text,
            covered,
            gap: why,
            quote,
            from,
            span,
        }
    }

    fn gap(self) -> Gap {
        let needed = self.needed.into_iter().map(|(axis, from, to)| (axis, (from.into(), to.into())));
        Gap {
            gear: self.gear,
            summary: self.summary,
            need: Need {
                needed: needed.collect(),
                text: self.text,
                covered: self.covered,
                gap: self.gap,
                quote: self.quote,
                from: self.from,
                span: self.span,
            },
        }
    }
}

/// A [`Short`].
#[derive(PartialEq, Serialize, Deserialize)]
struct ShortPiece {
    what: Cow<'static, str>,
    need: FigurePiece,
    aboard: FigurePiece,
    how: Cow<'static, str>,
}

/// A [`Figure`].
#[derive(PartialEq, Serialize, Deserialize)]
struct FigurePiece {
    name: String,
    value: Option<Bits>,
    low: Option<Bits>,
    high: Option<Bits>,
    unit: Cow<'static, str>,
    words: Option<String>,
    decimals: usize,
}

/// The words that a [`Short`] is made of.
const WORDS: &[&str] =
    &["heat", "diesel", "charge", "water", "food", "short", "perhaps", "L", "Ah", "days", "1"];

fn word(found: &str) -> Option<&'static str> {
    WORDS.iter().copied().find(|word| *word == found)
}

impl ShortPiece {
    fn of(short: &Short) -> Self {
        Self {
            what: short.what.into(),
            need: FigurePiece::of(&short.need),
            aboard: FigurePiece::of(&short.aboard),
            how: short.how.into(),
        }
    }

    fn short(self) -> Option<Short> {
        Some(Short {
            what: word(&self.what)?,
            need: self.need.figure()?,
            aboard: self.aboard.figure()?,
            how: word(&self.how)?,
        })
    }
}

impl FigurePiece {
    fn of(figure: &Figure) -> Self {
        Self {
            name: figure.name.clone(),
            value: figure.value.map(Bits::from),
            low: figure.low.map(Bits::from),
            high: figure.high.map(Bits::from),
            unit: figure.unit.into(),
            words: figure.words.clone(),
            decimals: figure.decimals,
        }
    }

    fn figure(self) -> Option<Figure> {
        Some(Figure {
            name: self.name,
            value: self.value.map(f64::from),
            low: self.low.map(f64::from),
            high: self.high.map(f64::from),
            unit: word(&self.unit)?,
            words: self.words,
            decimals: self.decimals,
        })
    }
}
