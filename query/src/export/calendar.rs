//! The dates that items hang on, as a calendar that any calendar program reads.
//!
//! Source: RFC 5545 (iCalendar); a task is a VTODO with a DUE date. Dates are days aboard, without a zone; an event on a
//! day has no end and so lasts that day. An item's identifier is the same each time, so that a calendar read again
//! changes its entries and adds none.

use chrono::{DateTime, NaiveDate, Utc};
use icalendar::{Calendar, Component, Event, EventLike, Todo, TodoStatus};

use crate::figure;
use crate::open_item::{Open, OpenList};
use crate::outing::{DayOut, Outings, day_words};
use crate::words::why;

/// Writes the open items with a date that comes before departure, or before the boat is back where nothing says when
/// she leaves, the days out of a plan that have a date and something to do, and the days of departure and of the
/// return. `now` is when the file is made.
pub fn calendar(list: &OpenList, plan: &Outings, now: DateTime<Utc>) -> Calendar {
    let mut calendar = Calendar::empty();
    calendar.append_property(("VERSION", "2.0"));
    calendar.append_property(("PRODID", "-//Leadsman//Before departure//EN"));
    for item in list.open.iter().chain(&list.perhaps) {
        if let Some(due) = due(item, list) {
            calendar.push(todo(item, due, now));
        }
    }
    for (one, date) in
        plan.days.iter().filter_map(|one| Some((one, one.date?))).filter(|(one, _)| !one.steps.is_empty())
    {
        calendar.push(outing(one, date, now));
    }
    for (day, what, uid) in
        [(list.voyage.leaves, "Departure", "departure"), (list.voyage.back, "Back by", "back")]
    {
        if let Some(day) = day {
            let mut event = Event::new();
            event.uid(&format!("{uid}@leadsman")).timestamp(now).summary(what).starts(day);
            calendar.push(event.done());
        }
    }
    calendar
}

/// The day by which an item is to be done: the one that the skipper sets, else its own date, but no later than
/// departure. What falls due after the boat has gone has to be seen to before she goes.
fn due(item: &Open, list: &OpenList) -> Option<NaiveDate> {
    let due = item.standing.due_on.or(item.due.as_ref().map(|due| due.from))?;
    Some(list.voyage.leaves.map_or(due, |leaves| leaves.min(due)))
}

/// A day out. Its identifier is its number: a plan made anew moves the days that are in a calendar already.
fn outing(one: &DayOut, date: NaiveDate, now: DateTime<Utc>) -> Event {
    let mut text: Vec<String> = vec![day_words(one)];
    for step in &one.steps {
        let mut line = format!("{}: {}, {} h", step.item, step.about, figure::number(step.needs.hours));
        if !step.provided.is_empty() {
            line += &format!(", provided that {}", step.provided.join(" and "));
        }
        text.push(line);
    }
    let things = figure::count(one.steps.len(), "thing", "things");
    let mut event = Event::new();
    event
        .uid(&format!("day-out-{}@leadsman", one.number))
        .timestamp(now)
        .summary(&format!("Day out {}: {things} to do", one.number))
        .description(&text.join("\n"))
        .starts(date);
    event.done()
}

fn todo(item: &Open, due: NaiveDate, now: DateTime<Utc>) -> Todo {
    let reason = item.why.map_or("open", why);
    let summary = match &item.gear {
        Some(gear) => format!("{gear}: {reason}"),
        None => item.about.clone(),
    };
    let mut text = item.about.clone();
    if let Some(date) = &item.due {
        text += &format!("\n{}: {} to {} (\u{201c}{}\u{201d})", date.what, date.from, date.until, date.said);
    }
    for words in &item.evidence {
        text += &format!("\n\u{201c}{}\u{201d} ({})", words.quote, words.name);
    }
    let mut todo = Todo::new();
    // The whole name: a short one may grow by a letter when another item comes to begin alike.
    todo.uid(&format!("{}@leadsman", item.id))
        .timestamp(now)
        .summary(&summary)
        .description(&text)
        .due(due)
        .status(TodoStatus::NeedsAction);
    todo.done()
}

#[cfg(test)]
mod tests {
    use icalendar::{CalendarComponent, DatePerhapsTime};
    use leadsman_ingest::matter::{Evidence, Ledger, Matter};
    use leadsman_ingest::{Due, Span, Why};

    use super::*;
    use crate::open_item::Voyage;

    fn day(text: &str) -> NaiveDate {
        text.parse().expect("a day")
    }

    fn list(leaves: Option<&str>) -> OpenList {
        let matter = |name: &str, due: Option<(&str, &str)>| Matter {
            name: name.to_owned(),
            id: name.repeat(2),
            gear: Some("liferaft".to_owned()),
            about: "service too early; with a comma, a \\ and\na line".to_owned(),
            why: vec![Why::Overdue],
            due: due.map(|(from, until)| Due {
                from: day(from),
                until: day(until),
                what: "service".to_owned(),
                said: "November".to_owned(),
            }),
            evidence: vec![Evidence {
                source: "ab".repeat(32),
                name: "01.txt".to_owned(),
                at: None,
                span: Span::new(0, 4),
                quote: "the card on the raft says November, and I'm not back; ü 🛟 ".repeat(4),
                why: None,
                ..Evidence::default()
            }],
            ..Matter::default()
        };
        let open = vec![matter("b7kq", Some(("2026-11-01", "2026-11-30"))), matter("k2mp", None)];
        let voyage = Voyage { leaves: leaves.map(day), back: Some(day("2026-12-01")), ..Voyage::default() };
        OpenList::new(Ledger { open, ..Ledger::default() }, voyage, day("2026-10-06"), 1, 0)
    }

    fn plan(list: &OpenList) -> Outings {
        Outings::new(list, &[], None, None)
    }

    #[test]
    fn the_skippers_own_date_and_the_days_out_are_entries() {
        let mut list = list(Some("2026-10-10"));
        list.open[1].standing.due_on = Some(day("2026-10-08"));
        list.open[1].why = Some(Why::FailedTrial);
        let plan = plan(&list);
        assert_eq!(plan.days.iter().filter(|day| !day.steps.is_empty()).count(), 1, "{plan:?}");
        let calendar = calendar(&list, &plan, now());
        let due: Vec<_> = calendar.todos().filter_map(|todo| todo.get_due()).collect();
        assert!(due.contains(&DatePerhapsTime::Date(day("2026-10-08"))), "{due:?}");
        let event =
            calendar.events().find(|event| event.get_uid() == Some("day-out-1@leadsman")).expect("a day");
        assert_eq!(event.get_start(), Some(DatePerhapsTime::Date(day("2026-10-07"))));
        // RFC 5545, 3.6.1: a day without an end lasts that day; an end must be later than the beginning.
        assert!(calendar.events().all(|event| event.get_end().is_none()));
        assert!(event.get_description().is_some_and(|text| text.contains("k2mp: liferaft")), "{event:?}");
    }

    fn now() -> DateTime<Utc> {
        "2026-10-06T00:00:00Z".parse().expect("a time")
    }

    #[test]
    fn what_is_due_becomes_a_task_before_departure() {
        let list = list(Some("2026-10-10"));
        let calendar = super::calendar(&list, &plan(&list), now());
        let todos: Vec<&Todo> = calendar.todos().collect();
        assert_eq!(todos.len(), 1, "an item without a date is no entry");
        assert_eq!(todos[0].get_due(), Some(DatePerhapsTime::Date(day("2026-10-10"))));
        assert_eq!(todos[0].get_uid(), Some("b7kqb7kq@leadsman"));
        assert_eq!(todos[0].get_summary(), Some("liferaft: overdue"));
        assert_eq!(calendar.events().count(), 2);
        let list = self::list(None);
        let without = super::calendar(&list, &plan(&list), now());
        let due = without.todos().next().expect("one").get_due();
        assert_eq!(due, Some(DatePerhapsTime::Date(day("2026-11-01"))));
    }

    #[test]
    fn the_file_comes_back_equal() {
        let list = list(Some("2026-10-10"));
        let calendar = super::calendar(&list, &plan(&list), now());
        let text = calendar.to_string();
        assert!(
            text.lines().all(|line| line.len() <= 75),
            "lines are folded at 75 bytes (RFC 5545, 3.1): {text}"
        );
        assert!(text.ends_with("END:VCALENDAR\r\n"));
        let back: Calendar = text.parse().expect("it parses");
        assert_eq!(back.to_string(), text);
        let first = |calendar: &Calendar| match &calendar.components[0] {
            CalendarComponent::Todo(todo) => todo.get_description().map(str::to_owned),
            other => panic!("a task comes first, not {other:?}"),
        };
        let words = first(&calendar).expect("words");
        assert!(words.contains("with a comma, a \\ and\na line"), "{words}");
        assert_eq!(first(&back), Some(words));
    }
}
