//! What stands open before departure, and what was closed: the answer of `leadsman open`.
//!
//! Which items there are, which notes bear on the same matter and what closes one is decided by
//! [`leadsman_ingest::matter`]; here the ledger gets its dates, its counts of days and what would settle each item.

pub mod order;
mod screen;
pub mod standing;

use std::collections::HashSet;

use chrono::{DateTime, FixedOffset, NaiveDate};
use leadsman_index::Decision;
use leadsman_ingest::matter::{ClosedBy, Evidence, Ledger, Matter};
use leadsman_ingest::{Due, Why};
use serde::{Deserialize, Serialize};

use crate::boat::Spoken;
use crate::instruments::Measured;
use crate::words::settled_by;
use order::pressing;
use standing::Standing;

pub use screen::{Shown, around, matter, show};

/// When the boat leaves and is back, and who says so.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Voyage {
    /// Day of departure.
    pub leaves: Option<NaiveDate>,
    /// Who names it: `--before`, the skipper, a note by its name.
    pub leaves_from: Option<String>,
    /// The note's words, where a note names it.
    pub leaves_said: Option<String>,
    /// Last day on which the boat may still be away.
    pub back: Option<NaiveDate>,
    /// Who names it; "departure and days at sea" where it is worked out from these.
    pub back_from: Option<String>,
    /// The note's words, where a note names it.
    pub back_said: Option<String>,
}

/// What stands open and what was closed, on a day.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct OpenList {
    /// The day asked about.
    pub on: NaiveDate,
    /// The coming voyage.
    #[serde(flatten)]
    pub voyage: Voyage,
    /// Days from the day asked about to departure; negative once it has passed.
    pub days_left: Option<i64>,
    /// How many notes answer.
    pub notes: usize,
    /// How many notes are of later days than the one asked about, and so left out.
    pub later_notes: usize,
    /// What stands open, most pressing first, as [`order`] says.
    pub open: Vec<Open>,
    /// What may be nothing, or over by now, until the skipper or a later note says so, in the same order.
    pub perhaps: Vec<Open>,
    /// What the skipper sails with, in the same order.
    pub accepted: Vec<Open>,
    /// What the skipper has put off to a day that is still to come, in the same order.
    pub put_off: Vec<Open>,
    /// Every closing, latest first.
    pub closed: Vec<Closed>,
    /// Closings that were left out of them: those that nobody need confirm, where the list was made without.
    #[serde(skip)]
    pub left_out: usize,
    /// What the skipper says is none.
    pub dismissed: Vec<Closed>,
}

/// A matter that stands open.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Open {
    /// Short name, for `close` and the other decisions.
    pub name: String,
    /// Whole name, which the short one is the beginning of.
    pub id: String,
    /// Every name that it goes by.
    #[serde(skip)]
    pub names: Vec<String>,
    /// The gear, where one is named.
    pub gear: Option<String>,
    /// The matter, in the speaker's words.
    pub about: String,
    /// The reason of the latest evidence.
    pub why: Option<Why>,
    /// All reasons, that one first.
    pub reasons: Vec<Why>,
    /// A date that it hangs on.
    pub due: Option<Due>,
    /// The day on which it was raised, where that is known.
    pub opened: Option<NaiveDate>,
    /// Days since then.
    pub days_open: Option<i64>,
    /// Days left before departure.
    pub days_left: Option<i64>,
    /// What would settle it.
    pub settled_by: String,
    /// What it endangers.
    pub endangers: &'static str,
    /// Whether only words that leave it in doubt have raised it.
    pub unsure: bool,
    /// Words by which it may be over.
    pub maybe_over: Option<Evidence>,
    /// What the skipper says of it.
    #[serde(flatten)]
    pub standing: Standing,
    /// Whole names of earlier matters that it is the return of; they stand among the closed.
    pub earlier: Vec<String>,
    /// The words that raised it and bear it out, oldest first.
    pub evidence: Vec<Evidence>,
    /// What the boat's instruments measured over the trial that it is open for.
    pub measured: Vec<Measured>,
}

/// A matter that was closed.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Closed {
    /// Short name, for `reopen`.
    pub name: String,
    /// Whole name, which the short one is the beginning of.
    pub id: String,
    /// Every name that it goes by.
    #[serde(skip)]
    pub names: Vec<String>,
    /// The gear, where one is named.
    pub gear: Option<String>,
    /// The matter, in the speaker's words.
    pub about: String,
    /// The reason of the latest evidence.
    pub why: Option<Why>,
    /// All reasons, that one first.
    pub reasons: Vec<Why>,
    /// The day on which it was raised.
    pub opened: Option<NaiveDate>,
    /// When it was closed.
    pub closed: Option<DateTime<FixedOffset>>,
    /// What closed it: `trial`, `word` (a note says that it is done), `ruling` (the skipper closed it).
    pub closed_by: String,
    /// The words that closed it.
    pub because: String,
    /// The name of the note that closed it.
    pub closed_in: Option<String>,
    /// Whether it stands open again as well.
    pub open_again: bool,
    /// Whether it is closed only by what a note says: the skipper has not confirmed it, nor have
    /// [`leadsman_ingest::matter::NOTES_THAT_CONFIRM`] later notes passed without contradiction.
    pub unconfirmed: bool,
    /// The words that raised it and bore it out, oldest first.
    pub evidence: Vec<Evidence>,
}

impl OpenList {
    /// Dates and counts a ledger. `notes` and `later_notes` are how many notes it was folded from and how many were
    /// left out as later.
    pub fn new(ledger: Ledger, voyage: Voyage, on: NaiveDate, notes: usize, later_notes: usize) -> Self {
        Self::told(ledger, &[], voyage, on, notes, later_notes)
    }

    /// As [`OpenList::new`], with what the skipper says of the items.
    pub fn told(
        mut ledger: Ledger,
        spoken: &[&Spoken],
        voyage: Voyage,
        on: NaiveDate,
        notes: usize,
        later_notes: usize,
    ) -> Self {
        tell_stories(&mut ledger);
        Self::without(ledger, 0, spoken, voyage, on, notes, later_notes)
    }

    /// As [`OpenList::told`], of a ledger whose open matters have their whole stories, and from whose closed ones
    /// `left_out` were left out.
    pub(crate) fn without(
        ledger: Ledger,
        left_out: usize,
        spoken: &[&Spoken],
        voyage: Voyage,
        on: NaiveDate,
        notes: usize,
        later_notes: usize,
    ) -> Self {
        let days_left = voyage.leaves.map(|leaves| (leaves - on).num_days());
        let mut standing: HashSet<String> = ledger.open.iter().map(|matter| matter.id.clone()).collect();
        standing.extend(ledger.open.iter().flat_map(|matter| matter.earlier.iter().cloned()));
        let mut all: Vec<Open> =
            ledger.open.into_iter().map(|matter| Open::new(matter, spoken, on, days_left)).collect();
        all.sort_by_cached_key(|item| pressing(item, on));
        let (accepted, rest): (Vec<Open>, Vec<Open>) =
            all.into_iter().partition(|item| item.standing.accepted.is_some());
        let (put_off, rest): (Vec<Open>, Vec<Open>) =
            rest.into_iter().partition(|item| item.standing.put_off_until.is_some_and(|until| until > on));
        let (perhaps, open) = rest.into_iter().partition(Open::is_doubtful);
        let closed = |matters: Vec<Matter>| -> Vec<Closed> {
            matters.into_iter().map(|matter| Closed::new(matter, &standing)).collect()
        };
        Self {
            on,
            voyage,
            days_left,
            notes,
            later_notes,
            open,
            perhaps,
            accepted,
            put_off,
            closed: closed(ledger.closed),
            left_out,
            dismissed: closed(ledger.dismissed),
        }
    }
}

/// Gives each open matter the names of all earlier ones that it is the return of.
fn tell_stories(ledger: &mut Ledger) {
    let stories = ledger.stories();
    for (matter, story) in ledger.open.iter_mut().zip(stories) {
        matter.earlier = story;
    }
}

impl OpenList {
    /// All that stands, however the skipper takes it.
    pub fn standing(&self) -> impl Iterator<Item = &Open> {
        [&self.open, &self.perhaps, &self.accepted, &self.put_off].into_iter().flatten()
    }
}

impl Open {
    /// Whether it is in doubt, and the skipper has said nothing of it.
    pub fn is_doubtful(&self) -> bool {
        (self.unsure || self.maybe_over.is_some()) && self.standing == Standing::default()
    }

    fn new(matter: Matter, spoken: &[&Spoken], on: NaiveDate, days_left: Option<i64>) -> Self {
        let opened = matter.raised_at().map(|at| at.date_naive());
        let why = matter.why.first().copied();
        let names: Vec<String> = matter.names().collect();
        let reopened = spoken.iter().any(|spoken| {
            matches!(spoken.entry.decision, Decision::Reopen { .. })
                && names.iter().any(|name| name.starts_with(&spoken.item))
        });
        Self {
            why,
            opened,
            days_open: opened.map(|day| (on - day).num_days()),
            days_left,
            settled_by: why.map_or("the skipper's word", settled_by).to_owned(),
            endangers: order::danger(matter.gear.as_deref()).1,
            unsure: matter.unsure,
            maybe_over: matter.maybe_over,
            standing: Standing::of(&names, spoken),
            names,
            name: matter.name,
            id: matter.id,
            gear: matter.gear,
            about: if reopened { without_mending(&matter.about) } else { matter.about },
            reasons: matter.why,
            due: matter.due,
            earlier: matter.earlier,
            evidence: matter.evidence,
            measured: Vec::new(),
        }
    }
}

/// A title without what put the matter right: the skipper who opens it again says that it did not.
pub fn without_mending(about: &str) -> String {
    let parts = about.split("; ").filter(|part| !part.starts_with("put right: "));
    parts.collect::<Vec<_>>().join("; ")
}

impl Closed {
    fn new(matter: Matter, standing: &HashSet<String>) -> Self {
        let open_again = standing.contains(&matter.id);
        let opened = matter.raised_at().map(|at| at.date_naive());
        let names = matter.names().collect();
        let closed = matter.closed;
        Self {
            opened,
            closed: closed.as_ref().and_then(|closed| closed.at),
            closed_by: closed.as_ref().map_or_else(String::new, |closed| closed.by.clone()),
            closed_in: closed.as_ref().and_then(|closed| Some(closed.evidence.as_ref()?.name.clone())),
            unconfirmed: !open_again && closed.as_ref().is_some_and(ClosedBy::unconfirmed),
            because: closed.map_or_else(String::new, |closed| closed.quote),
            open_again,
            names,
            why: matter.why.first().copied(),
            name: matter.name,
            id: matter.id,
            gear: matter.gear,
            about: matter.about,
            reasons: matter.why,
            evidence: matter.evidence,
        }
    }
}

#[cfg(test)]
mod tests {
    use leadsman_ingest::Span;

    use super::*;
    use crate::screen::Screen;

    fn day(text: &str) -> NaiveDate {
        text.parse().expect("a day")
    }

    fn entry(decision: leadsman_index::Decision) -> leadsman_index::Entry {
        leadsman_index::Entry {
            v: 1,
            id: "1".to_owned(),
            time: "2026-09-02T10:00:00Z".parse().expect("an instant"),
            device: "a".to_owned(),
            day: None,
            decision,
        }
    }

    fn matter(name: &str, gear: &str, about: &str, why: Why, at: &str) -> Matter {
        Matter {
            name: name.to_owned(),
            id: name.repeat(2),
            also: Vec::new(),
            gear: Some(gear.to_owned()),
            about: about.to_owned(),
            why: vec![why],
            due: None,
            evidence: vec![Evidence {
                id: name.repeat(2),
                source: "ab".repeat(32),
                name: "01-first.txt".to_owned(),
                at: Some(at.parse().expect("an instant")),
                span: Span::new(0, 9),
                quote: format!("the {gear} again"),
                why: Some(why),
            }],
            added: None,
            joined: Vec::new(),
            earlier: Vec::new(),
            unsure: false,
            maybe_over: None,
            closed: None,
        }
    }

    fn list(on: &str) -> OpenList {
        let open =
            matter("b7kq", "bilge pump", "barely keeps up", Why::FailedTrial, "2026-09-01T10:00:00+10:00");
        let mut closed = matter("k2mp", "heater", "goes out", Why::FailedTrial, "2026-08-20T09:00:00+10:00");
        closed.closed = Some(ClosedBy {
            by: "ruling".to_owned(),
            quote: "new drip pot".to_owned(),
            evidence: None,
            at: Some("2026-09-02T12:00:00+10:00".parse().expect("an instant")),
            confirmed: true,
            later_notes: 0,
        });
        let voyage = Voyage {
            leaves: Some(day("2026-10-10")),
            leaves_from: Some("the skipper".to_owned()),
            ..Voyage::default()
        };
        let ledger = Ledger { open: vec![open], closed: vec![closed], dismissed: Vec::new() };
        OpenList::new(ledger, voyage, day(on), 2, 0)
    }

    #[test]
    fn days_are_counted_from_the_day_asked_about() {
        let list = list("2026-10-06");
        assert_eq!((list.days_left, list.open[0].days_open), (Some(4), Some(35)));
        assert_eq!(list.open[0].settled_by, "a trial that passes");
        assert!(!list.closed[0].open_again);
        assert_eq!(self::list("2026-10-12").days_left, Some(-2));
    }

    #[test]
    fn the_list_reads_from_the_top() {
        let list = list("2026-10-06");
        insta::assert_snapshot!(Screen::printed(78, |screen| show(&list, Shown { all: true, why: false }, screen)), @r"
            Departure Sat 10 Oct 2026, in 4 days (the skipper)
            1 open, most pressing first; on Tue 6 Oct 2026 from 2 notes

              1. b7kq  bilge pump: failed when tried; since Tue 1 Sep 2026, 35 days ago
                       “the bilge pump again”  01-first.txt, Tue 1 Sep 2026 10:00
                       settled by: a trial that passes

            1 closed, latest first

                 k2mp  heater: closed Wed 2 Sep 2026 by the skipper: “new drip pot”
                       “the heater again”  01-first.txt, Thu 20 Aug 2026 09:00
        ");
    }

    #[test]
    fn what_is_in_doubt_stands_apart_until_the_skipper_says_something_of_it() {
        let at = "2026-09-01T10:00:00+10:00";
        let mut unsure = matter("b7kq", "windlass", "hums", Why::Task, at);
        unsure.unsure = true;
        let mut over = matter("k2mp", "heater", "goes out", Why::FailedTrial, at);
        let words = Evidence { quote: "the heater ran all night".to_owned(), ..over.evidence[0].clone() };
        over.maybe_over = Some(words);
        let ledger = Ledger { open: vec![unsure, over], ..Ledger::default() };
        let list = OpenList::new(ledger.clone(), Voyage::default(), day("2026-10-06"), 2, 0);
        assert!(list.open.is_empty());
        insta::assert_snapshot!(Screen::printed(78, |screen| show(&list, Shown::default(), screen)), @r"
            No departure is known; `leadsman passage --departure DATE` sets it
            Nothing else stands open; on Tue 6 Oct 2026 from 2 notes

            2 perhaps, for you to say: `confirm` what stands, `close` or `dismiss` what
              does not

                 b7kq  windlass: to do
                       “the windlass again”  01-first.txt, Tue 1 Sep 2026 10:00

                 k2mp  heater: failed when tried
                       “the heater again”  01-first.txt, Tue 1 Sep 2026 10:00
                       perhaps over: “the heater ran all night”  01-first.txt
        ");
        let item = "b7kqb7kq".to_owned();
        let give = leadsman_index::Decision::Give { item: item.clone(), to: "Ann".to_owned() };
        let spoken = Spoken { item, entry: entry(give) };
        let list = OpenList::told(ledger, &[&spoken], Voyage::default(), day("2026-10-06"), 2, 0);
        assert_eq!(list.open.iter().map(|o| o.name.as_str()).collect::<Vec<_>>(), ["b7kq"]);
        assert_eq!(list.perhaps.iter().map(|o| o.name.as_str()).collect::<Vec<_>>(), ["k2mp"]);
    }

    #[test]
    fn what_is_opened_again_was_not_put_right() {
        let about = "crash bulkhead; put right: capacity test; flood it";
        assert_eq!(without_mending(about), "crash bulkhead; flood it");
        let ledger = Ledger {
            open: vec![Matter {
                about: about.to_owned(),
                ..matter("b7kq", "bilge", "", Why::Task, "2026-09-01T10:00:00+10:00")
            }],
            ..Ledger::default()
        };
        let item = "b7kqb7kq".to_owned();
        let spoken = Spoken { entry: entry(leadsman_index::Decision::Reopen { item: item.clone() }), item };
        let told = |spoken: &[&Spoken]| {
            OpenList::told(ledger.clone(), spoken, Voyage::default(), day("2026-10-06"), 1, 0)
                .open
                .remove(0)
                .about
        };
        assert_eq!(told(&[&spoken]), "crash bulkhead; flood it");
        assert_eq!(told(&[]), about, "a mending that was not gainsaid stays");
    }

    #[test]
    fn nothing_open_is_said_so() {
        let none = OpenList::new(Ledger::default(), Voyage::default(), day("2026-10-06"), 0, 0);
        insta::assert_snapshot!(Screen::printed(78, |screen| show(&none, Shown::default(), screen)), @r"
            No departure is known; `leadsman passage --departure DATE` sets it
            Nothing is known yet: `leadsman ingest FILE` takes the first note
        ");
    }
}
