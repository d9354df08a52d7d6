//! What the instruments measured over a trial's time, which goes before what was said of its conditions.

use leadsman_index::SourceId;
use leadsman_ingest::Reading;

use super::{Attempt, Axis, Envelopes, Reach};
use crate::boat::{Boat, Day};
use crate::error::Error;
use crate::gear_word::base;
use crate::instruments::{Measured, Panel};

impl Envelopes {
    /// Puts what the instruments measured into the trials of one gear, or of all gear that something is asked of, each
    /// gear once; trials whose time is not known to the minute stay as they are. Errors: the home cannot be read.
    pub async fn measure(
        &mut self,
        boat: &Boat,
        day: Day,
        panel: &Panel<'_>,
        of: Option<&str>,
    ) -> Result<(), Error> {
        if panel.is_empty() {
            return Ok(());
        }
        let asked_of = |gear: &&str| !self.needs(gear).is_empty();
        let gear: Vec<String> = match of {
            Some(gear) => vec![base(gear).to_owned()],
            None => self.gear().into_iter().filter(asked_of).map(str::to_owned).collect(),
        };
        let notes = boat.noted(day);
        for gear in gear {
            if !self.measured.insert(gear.clone()) {
                continue;
            }
            for attempt in self.attempts.get_mut(&gear).into_iter().flatten() {
                let (index, start) = attempt.place;
                let Some(noted) = notes.get(index) else { continue };
                let mut trials = noted.note.trials.iter();
                let trial = trials.find(|trial| trial.span.start == start && base(&trial.gear) == gear);
                let (Some(trial), Ok(source)) = (trial, noted.source.parse::<SourceId>()) else { continue };
                let conditions = trial.conditions.iter().filter_map(|&n| noted.note.readings.get(n).cloned());
                let conditions: Vec<Reading> = conditions.collect();
                attempt.take(&panel.conditions_in(&source, trial, &conditions).await?);
            }
        }
        Ok(())
    }
}

impl Attempt {
    /// The mean over the trial's time is what it was tried in: a gust is not, and neither is a lull. Of two channels for
    /// one axis the less hard counts.
    fn take(&mut self, measured: &[Measured]) {
        let mut reach = Reach::new();
        for one in measured {
            let Some(axis) = Axis::of(one.quantity) else { continue };
            let mean = (one.mean * 100.0).round() / 100.0;
            reach
                .entry(axis)
                .and_modify(|had| *had = if axis.reaches(*had, mean) { mean } else { *had })
                .or_insert(mean);
        }
        self.measured = reach.keys().copied().collect();
        self.reach.extend(reach);
    }
}
