//! When a recording or an entry begins, in which zone, and how that is known.
//!
//! The beginning comes, in this order, from what the skipper says (`--recorded`), the note's own header line, the
//! recording that it was heard in, the file's name, the file's modification time. What one of them leaves out the next ones complete: a header with a
//! date and no time takes the time of a file name with the same date, or the one that is spoken ("it's seven thirty
//! in the morning"). Words that are spoken only ever complete and check.

use chrono::{NaiveDate, NaiveDateTime, NaiveTime, Timelike};

use crate::Hints;
use crate::format::{Cut, Stamp};
use crate::found::{Basis, Moment, Notice, Span, UtteranceKind};
use crate::sound::Began;

mod clock;
mod dates;
mod day;
mod name;
mod offset;
mod pick;
mod run;
pub(crate) mod said;
mod spoken;
mod words;
pub(crate) mod zone;

pub(crate) use dates::weekday;

use day::Known;
use name::NameSaid;
use said::{DateSaid, Mention, TimeSaid, What};
use zone::Zone;

/// The times of a note.
#[derive(Clone, Debug)]
pub(crate) struct Settled {
    pub recorded: Option<Moment>,
    pub recorded_from: String,
    pub zone: String,
    pub zone_said: bool,
    /// One for each piece.
    pub moments: Vec<Option<Moment>>,
    pub notices: Vec<Notice>,
}

/// What was gathered before anything is concluded.
struct Evidence<'a> {
    text: &'a str,
    cut: &'a Cut,
    name: NameSaid,
    /// The modification time, local.
    modified: Option<NaiveDateTime>,
    /// Dates and times in the first words spoken.
    talk: Vec<Mention>,
    /// Those first words, in whose bytes their mentions' spans are.
    words: &'a str,
}

impl<'a> Evidence<'a> {
    fn heads(&self) -> impl Iterator<Item = &'a Mention> {
        let cut = self.cut;
        cut.heads.iter().flat_map(|head| head.mentions.iter())
    }

    /// The header's date: the first whole one that is not of the typing up.
    fn head_date(&self) -> Option<(DateSaid, Span)> {
        let whole = |m: &&Mention| matches!(&m.what, What::Date(d) if d.day.is_some() && d.month.is_some());
        let typed = |m: &&Mention| {
            let before = self.text[..m.span.start]
                .rsplit(['\n', '.', ',', ';', '('])
                .next()
                .unwrap_or_default()
                .to_lowercase();
            [
                "typed",
                "printed",
                "exported",
                "copied",
                "transcribed",
                "saved",
                "corrected",
                "edited",
                "checked",
            ]
            .iter()
            .any(|w| before.contains(w))
        };
        let first = self.heads().filter(whole).find(|m| !typed(m)).or_else(|| self.heads().find(whole));
        if let Some(Mention { what: What::Date(date), span }) = first {
            return Some((*date, *span));
        }
        // Without one, the date of the first entry that has its own.
        self.cut.pieces.iter().find_map(|p| match p.stamp {
            Stamp::Day(date) | Stamp::DayClock(date, _) if date.month.is_some() => Some((date, p.span)),
            _ => None,
        })
    }

    /// The header's time: beside its date, else the first in any header line.
    fn head_time(&self, date: Option<Span>) -> Option<TimeSaid> {
        let time = |m: &'a Mention| match m.what {
            What::Time(time) if !self.ends(m.span) => Some((m.span, time)),
            _ => None,
        };
        let line =
            date.and_then(|d| self.cut.heads.iter().find(|h| h.span.start <= d.start && d.end <= h.span.end));
        let beside = line.and_then(|head| {
            let after = head
                .mentions
                .iter()
                .filter_map(time)
                .find(|(span, _)| date.is_some_and(|d| span.start >= d.start));
            after.or_else(|| head.mentions.iter().find_map(time))
        });
        beside.or_else(|| self.heads().find_map(time)).map(|(_, time)| time)
    }

    /// Whether a time is said of something else than the note: "home 18:20", "till 4 pm".
    fn ends(&self, time: Span) -> bool {
        leads_elsewhere(&self.text[..time.start])
    }

    /// The first time of day that an entry is stamped with, where all of the format's entries are.
    fn first_clock(&self) -> Option<NaiveTime> {
        matches!(self.cut.format, "log" | "stamped" | "messages").then(|| {
            self.cut.pieces.iter().find_map(|p| match p.stamp {
                Stamp::Clock(time) | Stamp::DayClock(_, time) => Some(time),
                _ => None,
            })
        })?
    }

    fn talk_date(&self) -> Option<DateSaid> {
        self.talk.iter().find_map(|m| match m.what {
            What::Date(d) if d.day.is_some() && d.month.is_some() => Some(d),
            _ => None,
        })
    }

    /// The times that the first words tell, each with its words.
    fn talk_times(&self) -> impl Iterator<Item = (TimeSaid, &str)> {
        let other = |m: &&Mention| leads_elsewhere(&self.words[..m.span.start]);
        let near = self.talk.iter().filter(move |m| m.span.start < TALK_TIME && !other(m));
        near.filter_map(|m| match m.what {
            What::Time(time) => Some((time, &self.words[m.span.range()])),
            _ => None,
        })
    }

    fn talk_time(&self, date: NaiveDate) -> Option<NaiveTime> {
        self.talk_times().find_map(|(time, _)| self.half_of_day(time, date))
    }

    /// Whether it is the second half of the day by the word behind the date in the head or in the first words.
    fn told_half(&self) -> Option<bool> {
        let dates = |m: &&Mention| matches!(m.what, What::Date(_));
        let of_heads = self.heads().find_map(|m| half_behind(self.text, m.span).filter(|_| dates(&m)));
        let mut first = self.talk.iter().filter(|m| m.span.start < TALK_TIME).filter(dates);
        of_heads.or_else(|| first.find_map(|m| half_behind(self.words, m.span)))
    }

    /// The half of the day of a time that leaves it open: the one before the file's own time, or the one by day where
    /// the other would be in the night.
    fn half_of_day(&self, time: TimeSaid, date: NaiveDate) -> Option<NaiveTime> {
        if time.sure || time.time.hour() >= 12 {
            return Some(time.time);
        }
        let later = time.time.with_hour(time.time.hour() + 12)?;
        if let Some(is_later) = self.told_half() {
            return Some(if is_later { later } else { time.time });
        }
        if let Some(modified) = self.modified.filter(|m| m.date() == date) {
            return Some(if later <= modified.time() { later } else { time.time });
        }
        match time.time.hour() {
            0..=5 => Some(later),
            10..=11 => Some(time.time),
            _ => None,
        }
    }
}

/// Whether it is the second half of the day by the word right behind a date: "Saturday the nineteenth, evening".
fn half_behind(words: &str, date: Span) -> Option<bool> {
    let behind = words.get(date.end..)?.trim_start_matches([',', ' ', '-']);
    let word = behind.split(|c: char| !c.is_alphabetic()).next()?;
    match word.to_lowercase().as_str() {
        "evening" | "afternoon" | "night" => Some(true),
        "morning" | "forenoon" => Some(false),
        _ => None,
    }
}

/// Whether words lead up to a time at which something ended or began, and not to that of a note: "home", "going since".
fn leads_elsewhere(before: &str) -> bool {
    const ELSEWHERE: [&str; 11] =
        ["home", "back", "till", "until", "to", "ended", "finished", "stopped", "since", "before", "after"];
    let last =
        before.trim_end_matches([' ', ':']).rsplit(|c: char| !c.is_alphabetic()).next().unwrap_or_default();
    ELSEWHERE.iter().any(|word| last.eq_ignore_ascii_case(word))
}

/// Bytes of talk in which a date may be said at the beginning.
const TALK: usize = 500;

/// Bytes of talk in which a time of day is the time of speaking, and not of what is told.
const TALK_TIME: usize = 250;

/// The beginning of what is said, as one string, and the dates and times in it.
fn talk(cut: &Cut) -> (String, Vec<Mention>) {
    let mut words = String::new();
    for piece in cut.pieces.iter().filter(|p| matches!(p.kind, UtteranceKind::Cue | UtteranceKind::Paragraph))
    {
        if words.len() >= TALK {
            break;
        }
        words.extend(piece.text.chars().take(TALK));
        words.push(' ');
    }
    let mentions = said::find(&words, Span::new(0, words.len()));
    (words, mentions)
}

/// Where a beginning comes from, and how sure it is.
struct Begin {
    date: NaiveDate,
    time: NaiveTime,
    /// How the date is known, and the whole.
    day: Basis,
    basis: Basis,
    from: String,
}

/// Settles when a note begins and when each of its pieces was said.
pub(crate) fn settle(text: &str, cut: &Cut, hints: &Hints) -> Settled {
    let (words, mentions) = talk(cut);
    let mut notices = Vec::new();
    let name = name::read(&hints.name);
    let heads = || cut.heads.iter().flat_map(|head| head.mentions.iter());
    // Some day near the note's, for the zones whose offset changes.
    let dated = heads().find_map(|m| match m.what {
        What::Date(d) => d.year.and_then(|year| d.in_year(year)),
        _ => None,
    });
    let about = name.date.or(dated).or(hints.modified.map(|m| m.date_naive()));
    let picked = pick::zone(text, heads(), &words, about, hints, &mut notices);
    let zone = picked.zone;
    let modified = hints.modified.map(|at| zone.local(at.fixed_offset()));
    let known = Evidence { text, cut, name: in_zone(name, zone), modified, talk: mentions, words: &words };
    let exact = cut.pieces.iter().find_map(|p| match p.stamp {
        Stamp::Exact(local, offset) => Some((local, offset)),
        _ => None,
    });
    let (recorded, from, day) = if let Some(at) = hints.recorded {
        (Some(Moment { at, basis: Basis::Stated }), "--recorded".to_owned(), Basis::Stated)
    } else if let Some((local, offset)) = exact {
        let at = zone.instant_at(local, offset);
        (Some(Moment { at, basis: Basis::Stated }), "the stamp of the first line".to_owned(), Basis::Stated)
    } else if let Some(began) = hints.began.filter(|_| known.head_date().is_none()) {
        let at = match began {
            Began::At(at) => zone.instant(zone.local(at.fixed_offset())),
            Began::Local(local) => zone.instant(local),
        };
        (Some(Moment { at, basis: Basis::Inferred }), "the recording's own time".to_owned(), Basis::Inferred)
    } else if let Some(begin) = begin(&known, &mut notices) {
        let at = zone.instant(begin.date.and_time(begin.time));
        (Some(Moment { at, basis: begin.basis }), begin.from, begin.day)
    } else {
        (None, String::new(), Basis::Inferred)
    };
    if recorded.is_none() && !cut.pieces.is_empty() {
        notices.push(Notice {
            span: None,
            line: None,
            message:
                "expected a date in the note's first lines, its file's name or its file's times, found none: \
                      its words have no time"
                    .to_owned(),
            hint: Some("dump it again with --recorded, for instance --recorded 2026-08-16T10:12".to_owned()),
        });
    }
    if picked.guessed && recorded.is_some() {
        notices.push(Notice {
            span: None,
            line: None,
            message: "expected a zone in the note or in the settings, found none: times are taken as UTC"
                .to_owned(),
            hint: Some("say it with --zone, for instance --zone Australia/Hobart".to_owned()),
        });
    }
    // A time given with its offset speaks for the note, where the note says nothing itself.
    let given = hints.recorded.filter(|_| !picked.said).map(|at| Zone::Fixed(*at.offset()));
    let zone = given.unwrap_or(zone);
    let month_first = day::month_first(&known, hints.recorded.map(|at| at.date_naive()));
    let moments = run::moments(cut, zone, recorded, day, month_first);
    let zone_of_note = match given {
        Some(zone) => format!("{}, from --recorded", zone.name()),
        None => format!("{}, {}", zone.name(), picked.from),
    };
    // Offsets in every stamp are the note's own word for its zone.
    let stamped = exact.and_then(|(_, offset)| offset).filter(|_| !picked.said && hints.recorded.is_none());
    let zone_of_note = match stamped {
        Some(offset) => {
            notices.retain(|n| !n.message.contains("times are taken as UTC"));
            format!("{}, from the note's stamps", Zone::Fixed(offset).name())
        }
        None => zone_of_note,
    };
    Settled {
        recorded,
        recorded_from: from,
        zone: zone_of_note,
        zone_said: picked.said || stamped.is_some(),
        moments,
        notices,
    }
}

/// A name's time in UTC becomes local.
fn in_zone(name: NameSaid, zone: Zone) -> NameSaid {
    match (name.date, name.time) {
        (Some(date), Some(time)) if name.utc => {
            let local = zone.local(date.and_time(time).and_utc().fixed_offset());
            NameSaid { date: Some(local.date()), time: Some(local.time()), ..name }
        }
        _ => name,
    }
}

/// Concludes when a note begins, from everything but `--recorded` and stamps with dates.
fn begin(known: &Evidence<'_>, notices: &mut Vec<Notice>) -> Option<Begin> {
    let header = known.head_date();
    let clock = known.first_clock();
    if let Some((date, span)) = header
        && let Some(Known { date, year_from }) = day::resolve(known, date, span, notices)
    {
        let of_year = year_from.map_or(String::new(), |from| format!(", the year from {from}"));
        let day = if of_year.is_empty() { Basis::Stated } else { Basis::Inferred };
        day::check(known, date, span, notices);
        let said =
            clock.or_else(|| known.head_time(Some(span)).and_then(|time| known.half_of_day(time, date)));
        if let Some(time) = said {
            return Some(Begin { date, time, day, basis: day, from: format!("the header line{of_year}") });
        }
        let (time, from) = time_of(known, date, notices);
        return Some(Begin {
            date,
            time,
            day,
            basis: Basis::Inferred,
            from: format!("the header line's date{of_year}, {from}"),
        });
    }
    if let Some(date) = known.name.date {
        if let Some(time) =
            clock.or_else(|| known.head_time(None).and_then(|time| known.half_of_day(time, date)))
        {
            let from = "the date in the file's name, the time in the note".to_owned();
            return Some(Begin { date, time, day: Basis::Inferred, basis: Basis::Inferred, from });
        }
        let (time, from) = time_of(known, date, notices);
        let from = if known.name.time.is_some() {
            "the file's name".to_owned()
        } else {
            format!("the date in the file's name, {from}")
        };
        return Some(Begin { date, time, day: Basis::Inferred, basis: Basis::Inferred, from });
    }
    // Spoken, with the year of the file's own time.
    if let Some(said) = known.talk_date()
        && let Some(Known { date, year_from }) = day::resolve(known, said, Span::default(), notices)
    {
        let (time, from) = match clock {
            Some(time) => (time, "the time of its first entry"),
            None => time_of(known, date, notices),
        };
        let of_year = year_from.map_or(String::new(), |from| format!(", the year from {from}"));
        let from = format!("the date in its first words{of_year}, {from}");
        return Some(Begin { date, time, day: Basis::Inferred, basis: Basis::Inferred, from });
    }
    let modified = known.modified?;
    let (date, time) = (modified.date(), clock.unwrap_or(modified.time()));
    let from = "the file's modification time".to_owned();
    Some(Begin { date, time, day: Basis::FileTime, basis: Basis::FileTime, from })
}

/// A time of day for a date that came without one, and where it comes from.
fn time_of(known: &Evidence<'_>, date: NaiveDate, notices: &mut Vec<Notice>) -> (NaiveTime, &'static str) {
    if let Some(time) = known.name.time.filter(|_| known.name.date == Some(date)) {
        return (time, "the time in the file's name");
    }
    if let Some(time) = known.talk_time(date) {
        return (time, "the time in its first words");
    }
    if let Some(modified) = known.modified.filter(|m| m.date() == date) {
        return (modified.time(), "the file's modification time on that day");
    }
    if let Some((said, words)) = known.talk_times().next() {
        notices.push(Notice {
            span: None,
            line: None,
            message: format!(
                "expected the half of the day beside “{words}”, found none: {} in the morning is taken",
                said.time.format("%H:%M")
            ),
            hint: Some("if it was in the evening, dump it again with --recorded to say the time".to_owned()),
        });
        return (said.time, "the time in its first words, taken to be in the morning");
    }
    notices.push(Notice {
        span: None,
        line: None,
        message: format!("expected a time of day beside {date}, found none: 12:00 stands for the day"),
        hint: Some("dump it again with --recorded to say the time".to_owned()),
    });
    (NaiveTime::from_hms_opt(12, 0, 0).unwrap_or_default(), "noon for want of a time")
}

#[cfg(test)]
mod tests;
