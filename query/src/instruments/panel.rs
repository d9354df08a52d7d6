//! The instruments beside the notes: what they measured while something was tried or said.
//!
//! A [`Panel`] is asked for a trial's conditions and for what a spoken number is worth. A home without instrument logs
//! has an empty one, which answers nothing and asks the database nothing.

use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::sync::Mutex;

use chrono::{DateTime, FixedOffset, NaiveDate, TimeDelta, Utc};
use chrono_tz::Tz;
use leadsman_index::{
    Asked, ChannelRow, Decision, Finding, Place, SourceId, Store, StoredReading, StoredTrial,
};
use leadsman_ingest::instrument::{Minute, Quantity};
use leadsman_ingest::matter::Evidence;
use leadsman_ingest::{Basis, Moment, Note, Reading, Span, Stance, Trial, Why, heard};

use super::clocks::{self, ByHand, ClockDay, Difference, MINUTES_APART, Spoken};
use super::joint::{self, is_joint};
use super::measured::{CONDITIONS, MINUTES_AROUND_A_TRIAL, MINUTES_BEFORE_A_TRIAL};
use super::said::{self, MINUTES_AROUND};
use super::{Against, Answers, Measured, Verdict, Window};
use crate::boat::{Boat, begins};
use crate::error::Error;
use crate::open_item::OpenList;
use crate::settings::Settings;

/// How a source's times are known.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Known {
    /// Name of its format.
    pub format: String,
    /// When the recording or the entry begins.
    pub recorded: Option<DateTime<FixedOffset>>,
    /// Where that came from.
    pub recorded_from: String,
}

impl Known {
    /// Of a note that need not be stored.
    pub fn of(note: &Note) -> Self {
        Self {
            format: note.format.clone(),
            recorded: note.recorded.map(|moment| moment.at),
            recorded_from: note.recorded_from.clone(),
        }
    }

    /// Whether a time in it is known to the minute.
    pub fn is_to_the_minute(&self, moment: Moment) -> bool {
        self.firmness(moment) == Firmness::Minute
    }

    /// How well a time in it is known.
    ///
    /// Words with stamps, and times that a note states, are known to the minute. Where all that is known is when the
    /// note was begun, its words may be of any time before. A time that stands for a day, or is the file's, is none.
    fn firmness(&self, moment: Moment) -> Firmness {
        let stamped = matches!(self.format.as_str(), "webvtt" | "subrip" | "stamped" | heard::FORMAT);
        match moment.basis {
            Basis::FileTime => Firmness::None,
            Basis::Inferred if self.recorded_from.contains("for want of a time") => Firmness::None,
            _ if stamped => Firmness::Minute,
            Basis::Stated if self.recorded != Some(moment.at) => Firmness::Minute,
            Basis::Stated | Basis::Inferred => Firmness::Loose,
        }
    }
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Firmness {
    Minute,
    Loose,
    None,
}

/// The instruments of a home.
pub struct Panel<'a> {
    store: &'a Store,
    zone: Tz,
    answers: Answers,
    rows: Vec<ChannelRow>,
    sources: HashMap<SourceId, Known>,
    by_hand: Vec<ByHand>,
    confirmed: Vec<Place>,
    /// Days whose clocks were looked at.
    days: Mutex<BTreeMap<NaiveDate, ClockDay>>,
}

impl<'a> Panel<'a> {
    /// Looks what instruments there are. `zone`: in which times are given back. Errors: the home cannot be read; its
    /// settings name a quantity that there is none of.
    pub async fn open(store: &'a Store, zone: Tz) -> Result<Self, Error> {
        let mut rows = store.channels().await?;
        rows.extend(joint::rows(&rows));
        let answers = match rows.is_empty() {
            true => Answers::default(),
            false => Answers::new(&Settings::read(store.home().root())?.answers)?,
        };
        let mut panel = Self {
            store,
            zone,
            answers,
            rows,
            sources: HashMap::new(),
            by_hand: Vec::new(),
            confirmed: Vec::new(),
            days: Mutex::default(),
        };
        if panel.is_empty() {
            return Ok(panel);
        }
        for row in store.sources().await? {
            let known =
                Known { format: row.format, recorded: row.recorded, recorded_from: row.recorded_from };
            panel.sources.insert(row.source, known);
        }
        for entry in store.record().decisions() {
            match &entry.decision {
                Decision::Clock { ahead_s, since, until } => {
                    panel.by_hand.push(ByHand { ahead_s: *ahead_s, since: *since, until: *until });
                }
                Decision::Confirm { of: Finding::Reading, place, .. } => panel.confirmed.push(place.clone()),
                _ => {}
            }
        }
        Ok(panel)
    }

    /// Whether there are no instruments.
    pub fn is_empty(&self) -> bool {
        self.rows.is_empty()
    }

    /// The channels of a quantity, those worked out across logs last.
    pub fn channels(&self, quantity: Quantity) -> impl Iterator<Item = &ChannelRow> {
        self.rows.iter().filter(move |row| row.channel.quantity == quantity)
    }

    /// A channel's minutes in a window.
    pub async fn minutes_of(&self, row: &ChannelRow, window: Window) -> Result<Vec<Minute>, Error> {
        if is_joint(row) {
            // It asks for the channels that it is worked out from, by this same way.
            return Box::pin(joint::minutes(self, row, window)).await;
        }
        Ok(self.store.minutes(row, window.first, window.end).await?)
    }

    /// A channel's hours from `first` up to but not `end`, in hours since 1970 UTC, each as a [`Minute`] whose `minute` is
    /// the hour's number.
    pub async fn hours_of(&self, row: &ChannelRow, first: i64, end: i64) -> Result<Vec<Minute>, Error> {
        if !is_joint(row) {
            return Ok(self.store.hours(row, first, end).await?);
        }
        let window = Window {
            first: first.saturating_mul(60).max(row.first),
            end: end.saturating_mul(60).min(row.last + 1),
        };
        let hours = self.minutes_of(row, window).await?;
        let hours = hours.into_iter().map(|minute| Minute { minute: minute.minute.div_euclid(60), ..minute });
        Ok(hours.fold(Vec::new(), |mut hours: Vec<Minute>, part| {
            match hours.last_mut() {
                Some(hour) if hour.minute == part.minute => *hour = hour.join(part),
                _ => hours.push(part),
            }
            hours
        }))
    }

    /// What the channel that answers for a quantity measured over a window; `None` where none has samples there.
    pub async fn measured(&self, quantity: Quantity, window: Window) -> Result<Option<Measured>, Error> {
        let candidates = self.minutes(|row| row.channel.quantity == quantity, window).await?;
        let chosen = self.answers.choose(candidates);
        Ok(chosen.and_then(|(row, minutes)| Measured::new(row, &minutes, self.zone)))
    }

    /// The channel that answers for a quantity over a window, with its minutes; `None` where none has samples there.
    pub async fn answering(
        &self,
        quantity: Quantity,
        window: Window,
    ) -> Result<Option<(&ChannelRow, Vec<Minute>)>, Error> {
        let candidates = self.minutes(|row| row.channel.quantity == quantity, window).await?;
        Ok(self.answers.choose(candidates))
    }

    /// The minutes of the channel that answers for a quantity over a window, by their numbers.
    pub async fn by_minute(
        &self,
        quantity: Quantity,
        window: Window,
    ) -> Result<BTreeMap<i64, Minute>, Error> {
        let minutes = self.answering(quantity, window).await?.map(|(_, minutes)| minutes);
        Ok(minutes.into_iter().flatten().map(|minute| (minute.minute, minute)).collect())
    }

    /// Each channel of a quantity that has samples in a window, with its minutes there.
    pub async fn each(
        &self,
        quantity: Quantity,
        window: Window,
    ) -> Result<Vec<(&ChannelRow, Vec<Minute>)>, Error> {
        let mut found = self.minutes(|row| row.channel.quantity == quantity, window).await?;
        found.retain(|(_, minutes)| !minutes.is_empty());
        Ok(found)
    }

    /// The minutes of all channels of a quantity, one after the other.
    pub async fn all_minutes(&self, quantity: Quantity, window: Window) -> Result<Vec<Minute>, Error> {
        Ok(self.each(quantity, window).await?.into_iter().flat_map(|(_, minutes)| minutes).collect())
    }

    /// The days since 1970 UTC, in order, on which a quantity has samples in a window.
    pub async fn days_of(&self, quantity: Quantity, window: Window) -> Result<Vec<i64>, Error> {
        let (first, last) = (window.first.div_euclid(60), (window.end - 1).div_euclid(60));
        let mut days = Vec::new();
        for row in self.rows.iter().filter(|row| row.channel.quantity == quantity) {
            let hours = self.store.hours(row, first, last + 1).await?;
            days.extend(hours.into_iter().map(|hour| hour.minute.div_euclid(24)));
        }
        days.sort_unstable();
        days.dedup();
        Ok(days)
    }

    /// The SHA-256 of the logs that have samples of some quantities over a window.
    pub async fn logs(&self, quantities: &[Quantity], window: Window) -> Result<Vec<String>, Error> {
        let mut logs = BTreeSet::new();
        for row in self.rows.iter().filter(|row| quantities.contains(&row.channel.quantity)) {
            let found = self.store.logs_of(row, window.first, window.end).await?;
            logs.extend(found.into_iter().map(|source| source.to_string()));
        }
        Ok(logs.into_iter().collect())
    }

    /// The last minute in which any instrument said anything.
    pub fn last_minute(&self) -> Option<i64> {
        self.rows.iter().map(|row| row.last).max()
    }

    async fn minutes(
        &self,
        wanted: impl Fn(&ChannelRow) -> bool,
        window: Window,
    ) -> Result<Vec<(&ChannelRow, Vec<Minute>)>, Error> {
        let mut found = Vec::new();
        for row in self.rows.iter().filter(|row| row.first < window.end && window.first <= row.last) {
            if wanted(row) {
                found.push((row, self.minutes_of(row, window).await?));
            }
        }
        Ok(found)
    }

    /// The window of a trial by the instruments' clock: from its conditions' words to those that settle it, and at
    /// least `MINUTES_AROUND_A_TRIAL` minutes either way. `None` where its time is not known to the minute.
    pub async fn window(
        &self,
        known: &Known,
        trial: &Trial,
        conditions: &[Reading],
    ) -> Result<Option<Window>, Error> {
        let firm = |moment: &Moment| known.firmness(*moment) == Firmness::Minute;
        let Some(at) = trial.at.filter(firm) else { return Ok(None) };
        let earliest = at.at - TimeDelta::minutes(MINUTES_BEFORE_A_TRIAL);
        let times = conditions.iter().filter_map(|reading| reading.at).filter(firm).map(|moment| moment.at);
        let from = times.filter(|time| (earliest..=at.at).contains(time)).min().unwrap_or(at.at);
        let ahead = self.ahead(at.at.date_naive()).await?;
        Ok(Some(Window::around(from.to_utc() + ahead, at.at.to_utc() + ahead, MINUTES_AROUND_A_TRIAL)))
    }

    /// What the instruments measured over a trial's time, in the order of `CONDITIONS`; empty where that time is not
    /// known to the minute.
    pub async fn conditions(
        &self,
        known: &Known,
        trial: &Trial,
        conditions: &[Reading],
    ) -> Result<Vec<Measured>, Error> {
        let mut all = Vec::new();
        if self.is_empty() {
            return Ok(all);
        }
        let Some(window) = self.window(known, trial, conditions).await? else { return Ok(all) };
        for &quantity in CONDITIONS {
            all.extend(self.measured(quantity, window).await?);
        }
        Ok(all)
    }

    /// As [`Panel::conditions`], of a trial that is stored.
    pub async fn conditions_of(&self, trial: &StoredTrial) -> Result<Vec<Measured>, Error> {
        self.conditions_in(&trial.source, &trial.trial, &trial.conditions).await
    }

    /// As [`Panel::conditions`], of a trial in a source that is stored.
    pub async fn conditions_in(
        &self,
        source: &SourceId,
        trial: &Trial,
        conditions: &[Reading],
    ) -> Result<Vec<Measured>, Error> {
        match self.sources.get(source) {
            Some(known) => self.conditions(known, trial, conditions).await,
            None => Ok(Vec::new()),
        }
    }

    /// Adds to items that are open for a trial what was measured over it; of several trials, the last.
    pub async fn join(&self, list: &mut OpenList, boat: &Boat) -> Result<(), Error> {
        if self.is_empty() {
            return Ok(());
        }
        for item in list.open.iter_mut().chain(&mut list.perhaps) {
            let tried =
                |words: &&Evidence| matches!(words.why, Some(Why::FailedTrial | Why::InconclusiveTrial));
            let Some(words) = item.evidence.iter().rev().find(tried) else { continue };
            let Some((source, trial, conditions)) = boat.trial_at(&words.source, words.span) else {
                continue;
            };
            item.measured = self.conditions_in(&source, trial, &conditions).await?;
        }
        Ok(())
    }

    /// Sets a reading against the instruments; `None` where none can speak to it.
    pub async fn set_against(&self, known: &Known, reading: &Reading) -> Result<Option<Against>, Error> {
        if self.is_empty() || !said::can_be_set_against(reading) {
            return Ok(None);
        }
        let Some(moment) = reading.at else { return Ok(None) };
        let firmness = known.firmness(moment);
        if firmness == Firmness::None {
            return Ok(None);
        }
        let ahead = self.ahead(moment.at.date_naive()).await?;
        let at = moment.at.to_utc() + ahead;
        let window = Window::around(at, at, MINUTES_AROUND);
        let mut first = None;
        for &quantity in said::channels_of(&reading.quantity) {
            let tolerance = said::tolerance(quantity, said::middle(reading));
            let wanted =
                |row: &ChannelRow| row.channel.quantity == quantity && self.fits(row, reading) != Fit::No;
            let mut left = self.minutes(wanted, window).await?;
            // The channel that answers, then the others: a number may be read off any of them.
            while let Some((row, minutes)) = self.answers.choose(left.clone()) {
                left.retain(|(other, _)| other.key != row.key);
                let Some(measured) = Measured::new(row, &minutes, self.zone) else { continue };
                let agrees = said::overlaps(reading, quantity, (measured.low, measured.high), tolerance);
                let verdict = match (agrees, firmness, self.fits(row, reading)) {
                    (true, ..) => Verdict::Corroborated,
                    (false, Firmness::Minute, Fit::Sure) => Verdict::Contradicted,
                    _ => Verdict::Open,
                };
                let against = Against { verdict, measured, tolerance, clock_ahead_s: ahead.as_seconds_f64() };
                if agrees {
                    return Ok(Some(against));
                }
                first.get_or_insert(against);
            }
        }
        Ok(first)
    }

    /// As [`Panel::set_against`], of a reading that is stored.
    pub async fn set_stored_against(&self, stored: &StoredReading) -> Result<Option<Against>, Error> {
        self.set_against_in(&stored.source, &stored.reading).await
    }

    /// As [`Panel::set_against`], of a reading in a source that is stored. One that the skipper has confirmed is not
    /// contradicted.
    pub async fn set_against_in(
        &self,
        source: &SourceId,
        reading: &Reading,
    ) -> Result<Option<Against>, Error> {
        let Some(known) = self.sources.get(source) else { return Ok(None) };
        let confirmed =
            self.confirmed.iter().any(|place| place.source == *source && place.span == reading.span);
        let against = self.set_against(known, reading).await?;
        Ok(against.map(|against| match against.verdict {
            Verdict::Contradicted if confirmed => Against { verdict: Verdict::Open, ..against },
            _ => against,
        }))
    }

    /// Adds to readings the doubts that instruments raise about them. Gives what was measured when those were said, by
    /// their places.
    pub async fn doubt(
        &self,
        readings: &mut [StoredReading],
    ) -> Result<HashMap<(SourceId, Span), Measured>, Error> {
        let mut contradicted = HashMap::new();
        if self.is_empty() {
            return Ok(contradicted);
        }
        for stored in readings {
            let Some(against) = self.set_stored_against(stored).await? else { continue };
            if let Some(doubt) = against.doubt(&stored.reading) {
                stored.reading.doubts.push(doubt);
                contradicted.insert((stored.source, stored.reading.span), against.measured);
            }
        }
        Ok(contradicted)
    }

    /// Whether a channel can be what a reading is about: of several batteries, tanks or engines, the one it names.
    fn fits(&self, row: &ChannelRow, reading: &Reading) -> Fit {
        use Quantity as Q;
        let channel = &row.channel;
        let many = matches!(
            channel.quantity,
            Q::Voltage
                | Q::Current
                | Q::Power
                | Q::StateOfCharge
                | Q::FuelVolume
                | Q::WaterVolume
                | Q::EngineSpeed
                | Q::EngineHours
                | Q::EngineTemperature
                | Q::OilPressure
                | Q::FuelRate
                | Q::LineLoad
                | Q::CoLevel
        );
        if !many {
            return Fit::Sure;
        }
        if said::instance_fits(&channel.instance, reading.gear.as_deref()) {
            return Fit::Sure;
        }
        let alone = self.rows.iter().all(|other| {
            other.channel.quantity != channel.quantity || other.channel.instance == channel.instance
        });
        let named = channel.instance.chars().any(char::is_alphabetic) && reading.gear.is_some();
        if alone && !named { Fit::Maybe } else { Fit::No }
    }

    /// How far the instruments' clock is ahead of the notes' on a day.
    pub async fn ahead(&self, day: NaiveDate) -> Result<TimeDelta, Error> {
        let difference = self.clock(day).await?.difference;
        let millis = difference.map_or(0.0, |difference| (difference.ahead_s * 1000.0).round());
        Ok(TimeDelta::try_milliseconds(millis as i64).unwrap_or_default())
    }

    /// The clocks of a day.
    pub async fn clock(&self, day: NaiveDate) -> Result<ClockDay, Error> {
        if let Some(known) = self.days.lock().ok().and_then(|days| days.get(&day).cloned()) {
            return Ok(known);
        }
        let mut found = self.look_at_clocks(day).await?;
        if let Some(word) = self.by_hand.iter().rev().find(|word| word.covers(day)) {
            let agree = found.difference.map_or(found.agree_as_they_are, |difference| difference.agree);
            found.difference = Some(Difference { ahead_s: word.ahead_s, by_hand: true, agree });
        }
        if let Ok(mut days) = self.days.lock() {
            days.insert(day, found.clone());
        }
        Ok(found)
    }

    /// The days that have both notes with numbers and instruments, each with its clocks.
    pub async fn clocks(&self) -> Result<Vec<ClockDay>, Error> {
        let mut days: Vec<NaiveDate> = Vec::new();
        if !self.is_empty() {
            let asked = Asked { stances: vec![Stance::Observed], ..Asked::default() };
            for stored in self.store.readings(&asked).await? {
                if let Some((at, _)) = self.firm(&stored) {
                    days.push(at.date_naive());
                }
            }
        }
        days.dedup();
        let mut all = Vec::new();
        for day in days {
            let clock = self.clock(day).await?;
            if clock.compared > 0 {
                all.push(clock);
            }
        }
        Ok(all)
    }

    /// A reading's time, where it is known to the minute, and that minute.
    fn firm(&self, stored: &StoredReading) -> Option<(DateTime<FixedOffset>, i64)> {
        let known = self.sources.get(&stored.source)?;
        let moment = stored.reading.at.filter(|at| known.firmness(*at) == Firmness::Minute)?;
        said::can_be_set_against(&stored.reading).then(|| (moment.at, moment.at.timestamp().div_euclid(60)))
    }

    async fn look_at_clocks(&self, day: NaiveDate) -> Result<ClockDay, Error> {
        let nothing = ClockDay { day, compared: 0, agree_as_they_are: 0, difference: None };
        let since: DateTime<Utc> = begins(day, self.zone);
        // Notes' own offsets may differ from the zone: a day wider, then by the day that each reading names.
        let asked = Asked {
            stances: vec![Stance::Observed],
            since: Some(since - TimeDelta::days(1)),
            until: Some(since + TimeDelta::days(2)),
            ..Asked::default()
        };
        let readings = self.store.readings(&asked).await?;
        let firm: Vec<(&Reading, i64)> = readings
            .iter()
            .filter_map(|stored| {
                let (at, minute) = self.firm(stored)?;
                (at.date_naive() == day).then_some((&stored.reading, minute))
            })
            .collect();
        let (Some(first), Some(last)) = (firm.iter().map(|f| f.1).min(), firm.iter().map(|f| f.1).max())
        else {
            return Ok(nothing);
        };
        let apart = MINUTES_APART + MINUTES_AROUND;
        let window = Window { first: first - apart, end: last + apart + 1 };
        let needed = |row: &ChannelRow| {
            firm.iter()
                .any(|(reading, _)| said::channels_of(&reading.quantity).contains(&row.channel.quantity))
        };
        let channels: Vec<(&ChannelRow, BTreeMap<i64, Minute>)> = self
            .minutes(needed, window)
            .await?
            .into_iter()
            .map(|(row, minutes)| (row, minutes.into_iter().map(|m| (m.minute, m)).collect()))
            .collect();
        let spoken: Vec<Spoken<'_>> = firm
            .iter()
            .map(|&(reading, minute)| {
                let of = said::channels_of(&reading.quantity);
                let mine = channels.iter().filter(|(row, minutes)| {
                    of.contains(&row.channel.quantity)
                        && self.fits(row, reading) != Fit::No
                        && minutes.range(minute - apart..=minute + apart).next().is_some()
                });
                let channels = mine.map(|(row, minutes)| (row.channel.quantity, minutes)).collect();
                Spoken { reading, minute, channels }
            })
            .filter(|spoken| !spoken.channels.is_empty())
            .collect();
        Ok(clocks::estimate(day, &spoken))
    }
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Fit {
    Sure,
    Maybe,
    No,
}
