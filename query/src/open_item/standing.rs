//! What the skipper says of an item besides closing it: how much it presses, who does it, what it waits for.

use chrono::{DateTime, NaiveDate, Utc};
use leadsman_index::{Decision, Rank};
use serde::Serialize;

use crate::boat::Spoken;

/// What the skipper says of an item; the latest word on each point counts.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Standing {
    /// How much it presses.
    pub rank: Option<Rank>,
    /// Why the boat sails with it as it is.
    pub accepted: Option<String>,
    /// It is not for before this day.
    pub put_off_until: Option<NaiveDate>,
    /// Who does it.
    pub given_to: Option<String>,
    /// What it waits for.
    pub waits_for: Option<String>,
    /// When that is due.
    pub waits_until: Option<NaiveDate>,
    /// The day that it is due by, by the skipper's word.
    pub due_on: Option<NaiveDate>,
    /// Remarks, oldest first.
    pub remarks: Vec<Remark>,
}

/// A remark on an item.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Remark {
    /// When it was made.
    pub at: DateTime<Utc>,
    /// The remark.
    pub text: String,
}

impl Standing {
    /// What decisions, oldest first, say of an item that goes by some names.
    pub fn of(names: &[String], spoken: &[&Spoken]) -> Self {
        let mut standing = Self::default();
        for spoken in spoken {
            if names.iter().any(|name| name.starts_with(&spoken.item)) {
                standing.say(&spoken.entry.decision, spoken.entry.at());
            }
        }
        standing
    }

    fn say(&mut self, decision: &Decision, at: DateTime<Utc>) {
        match decision {
            Decision::Accept { because, .. } => self.accepted = Some(because.clone()),
            Decision::PutOff { until, .. } => self.put_off_until = Some(*until),
            // What is open again is neither accepted nor put off.
            Decision::Reopen { .. } => (self.accepted, self.put_off_until) = (None, None),
            Decision::Give { to, .. } => self.given_to = Some(to.clone()),
            Decision::Wait { r#for, due, .. } => {
                (self.waits_for, self.waits_until) = (Some(r#for.clone()), *due);
            }
            Decision::Rank { rank, .. } => self.rank = Some(*rank),
            Decision::Due { date, .. } => self.due_on = Some(*date),
            Decision::Note { text, .. } => self.remarks.push(Remark { at, text: text.clone() }),
            _ => {}
        }
    }
}
