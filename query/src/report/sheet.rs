//! A report as one HTML file: its style in it, nothing fetched, made for paper.

use leadsman_ingest::Why;
use maud::{DOCTYPE, Markup, PreEscaped, html};

use super::drawn::picture;
use super::{Reader, Report, days};
use crate::envelope::proved_words;
use crate::envelope::svg::svg;
use crate::figure;
use crate::open_item::{Open, around};
use crate::reckon::budget::CAUTION;
use crate::words::{shortened, spaced, why};

/// Groups of open items, in the order of the sheet.
const GROUPS: [(Why, &str); 6] = [
    (Why::FailedTrial, "Failed when tried"),
    (Why::OutOfLimits, "Out of limits"),
    (Why::Overdue, "Overdue"),
    (Why::Unproven, "Never proved"),
    (Why::InconclusiveTrial, "Tried, not settled"),
    (Why::Task, "To do"),
];
/// Items of one group; the rest are counted.
const MOST: usize = 60;
/// Envelopes that are drawn.
const PICTURES: usize = 6;
/// Characters of a piece of evidence.
const LONGEST: usize = 220;

/// Writes a report.
pub fn sheet(report: &Report) -> String {
    let title = match report.reader {
        Reader::Skipper => "Before departure",
        Reader::Crew => "For the crew",
        Reader::Ashore => "For the contact ashore",
    };
    html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { (title) }
                style { (PreEscaped(include_str!("sheet.css"))) }
            }
            body {
                h1 { (title) }
                p.small { "Made " (figure::moment(report.made)) " from " (figure::count(report.list.notes, "note", "notes")) }
                @match report.reader {
                    Reader::Skipper => (skipper(report)),
                    Reader::Crew => (crew(report)),
                    Reader::Ashore => (ashore(report)),
                }
                p.caution { (caution(report.reader)) }
            }
        }
    }
    .into_string()
}

fn caution(reader: Reader) -> &'static str {
    match reader {
        Reader::Skipper => {
            "This sheet remembers and computes, it does not decide. Makers', riggers' and surveyors' figures and local \
             rules come first. What no note speaks of is not on it, and unknown is not good."
        }
        Reader::Crew => {
            "This sheet holds what was said in notes. What no note speaks of is not on it. The skipper's word and the \
             instructions on the gear itself come first."
        }
        Reader::Ashore => {
            "What is left empty is not known. Agree on these times with the skipper before departure, and follow the \
             rules of the rescue service that is called."
        }
    }
}

fn voyage(report: &Report) -> Markup {
    let (list, set) = (&report.list, &report.passage);
    let unit = |value: Option<f64>, unit: &str| value.map(|value| figure::value(value, unit));
    let lines = [
        ("Departure", list.voyage.leaves.map(figure::day)),
        ("Back by", list.voyage.back.map(figure::day)),
        ("Days at sea", set.days.map(figure::number)),
        ("Distance", unit(set.distance_nmi, "nmi")),
        ("People aboard", set.crew.map(|crew| crew.to_string())),
        ("Coldest air", unit(set.coldest_air_degc, "degC")),
        ("Coldest sea", unit(set.coldest_sea_degc, "degC")),
        ("Strongest wind", unit(set.strongest_wind_kn, "kn")),
    ];
    html! {
        @if let Some(days) = list.days_left {
            p.days { @if days >= 0 { (figure::count(days.unsigned_abs() as usize, "day left", "days left")) }
                @else { "departure has passed" } }
        }
        dl { @for (name, value) in lines { @if let Some(value) = value { dt { (name) } dd { (value) } } } }
        @if list.voyage.leaves.is_none() { p { "No departure is known." } }
    }
}

fn skipper(report: &Report) -> Markup {
    html! {
        (voyage(report))
        (short(report))
        @for (reason, name) in GROUPS {
            @let items = report.group(reason);
            @if !items.is_empty() {
                h2 { (name) " (" (items.len()) ")" }
                ul { @for item in items.iter().take(MOST) { (open(item)) } }
                @if items.len() > MOST { p { "and " (items.len() - MOST) " more" } }
            }
        }
        @if report.list.open.is_empty() {
            h2 { "Open" }
            p { @if report.list.perhaps.is_empty() { "No note speaks of an open matter." } @else { "None for sure." } }
        }
        (aside(report))
        (proved(report))
        (envelopes(report))
        (rig(report))
        (budget(report))
        @if !report.trends.is_empty() {
            h2 { "Where readings go" }
            @for drawn in &report.trends {
                @let trend = &drawn.trend;
                figure {
                    figcaption {
                        strong { (spaced(&trend.question.quantity))
                            @if let Some(gear) = &trend.question.gear { ", " (gear) } }
                        @if let Some(slope) = trend.slope.filter(|slope| slope.distinguishable) {
                            ": " span.value { (figure::value(slope.per_week, &trend.unit)) } " a week"
                        }
                        @if let Some(last) = trend.last { "; last " span.value { (figure::value(last, &trend.unit)) } }
                    }
                    (PreEscaped(picture(drawn)))
                }
            }
        }
        (dates(report))
    }
}

fn called(item: &Open) -> String {
    item.gear.clone().unwrap_or_else(|| shortened(&item.about, 80))
}

fn open(item: &Open) -> Markup {
    html! {
        li.tick {
            strong { (called(item)) }
            @for reason in item.reasons.iter().skip(1) { "; " (why(*reason)) }
            @if let Some(due) = &item.due { "; " (due.what) " " (days(due.from, due.until)) }
            @if let Some(latest) = item.evidence.last() {
                @if let Some(around) = around(&item.about, &latest.quote) { p.small { (around) } }
                p { "“" (shortened(&latest.quote, LONGEST)) "” "
                    span.from { (latest.name) @if let Some(at) = latest.at { ", " (figure::moment(at)) } } }
            }
            p.small { "settled by " (item.settled_by) " · " (item.name) }
        }
    }
}

/// What the skipper sails with, and what is put off: open, and listed apart.
fn aside(report: &Report) -> Markup {
    html! {
        @let perhaps = &report.list.perhaps;
        @if !perhaps.is_empty() {
            h2 { "Perhaps: may be nothing, or over by now (" (perhaps.len()) ")" }
            ul { @for item in perhaps.iter().take(MOST) { (open(item)) } }
        }
        (accepted(report))
        @if !report.list.put_off.is_empty() {
            h2 { "Put off (" (report.list.put_off.len()) ")" }
            ul { @for item in report.list.put_off.iter().take(MOST) {
                li { strong { (called(item)) } @if let Some(until) = item.standing.put_off_until { ": not before " (figure::day(until)) }
                    p.small { (shortened(&item.about, LONGEST)) " · " (item.name) } }
            } }
        }
    }
}

fn accepted(report: &Report) -> Markup {
    let accepted = &report.list.accepted;
    html! {
        @if !accepted.is_empty() {
            h2 { "Accepted: sailing with it as it is (" (accepted.len()) ")" }
            ul { @for item in accepted.iter().take(MOST) {
                li {
                    strong { (called(item)) } @if let Some(reason) = item.why { ": " (why(reason)) }
                    @if let Some(because) = &item.standing.accepted { p { "because: " (because) } }
                    @if let Some(latest) = item.evidence.last() { p { "“" (shortened(&latest.quote, LONGEST)) "” " span.from { (latest.name) } } }
                    p.small { (item.name) }
                }
            } }
            @if accepted.len() > MOST { p { "and " (accepted.len() - MOST) " more" } }
        }
    }
}

/// What gear has passed, beside what it is needed for: a line each, and a picture where the notes tell of the wind.
fn envelopes(report: &Report) -> Markup {
    html! {
        @if !report.envelopes.is_empty() {
            h2 { "Proved, and needed" }
            table {
                thead { tr { th { "gear" } th { "proved" } th { "needed at" } th { "so" } } }
                tbody {
                    @for envelope in &report.envelopes {
                        @for (n, need) in envelope.needs.iter().enumerate() {
                            tr {
                                td { @if n == 0 { (envelope.gear) } }
                                td { @if n == 0 { (proved_words(&envelope.passed)) } }
                                td { span.value { (need.text) }
                                    @if need.quote.is_empty() { " " span.from { (need.from) } }
                                    @else { p.from { "“" (shortened(&need.quote, 90)) "” " (need.from) } } }
                                td { @if need.covered { "proved" } @else { span.bad { (need.gap) } } }
                            }
                        }
                    }
                }
            }
            div.pair {
                @for (envelope, picture) in report.envelopes.iter().filter_map(|one| Some((one, svg(one)?))).take(PICTURES) {
                    figure { figcaption { strong { (envelope.gear) } ": wind of each trial, and needed" } (PreEscaped(picture)) }
                }
            }
            p.small { "What held once need not hold again. Makers' and riggers' figures come first." }
        }
    }
}

fn short(report: &Report) -> Markup {
    let short = report.budget.as_ref().map(|budget| budget.short.as_slice()).unwrap_or_default();
    html! {
        @if !short.is_empty() && report.passage != leadsman_index::Passage::default() {
            h2 { "Short for the passage" }
            dl {
                @for one in short {
                    dt.bad { (one.what) @if one.how == "perhaps" { " (perhaps)" } }
                    dd { (one.need.name) " " span.value { (one.need.text()) } ", " (one.aboard.name) " "
                        span.value { (one.aboard.text()) } }
                }
            }
        }
    }
}

fn proved(report: &Report) -> Markup {
    html! {
        @if !report.proved.is_empty() {
            h2 { "Proved" }
            table {
                thead { tr { th { "gear" } th { "passed on" } th.n { "wind" } th { "words" } } }
                tbody {
                    @for stored in &report.proved {
                        tr {
                            td { (stored.trial.gear) }
                            td.d { @if let Some(at) = stored.trial.at { (at.at.format("%-d %b %Y").to_string()) } @else { "day not known" } }
                            td.n { @match report.passed_in_kn.get(&stored.trial.gear) {
                                Some(wind) => { "to " (figure::value(*wind, "kn")) }, None => "not said" } }
                            td { "“" (shortened(&stored.trial.quote, 90)) "” " span.from { (stored.name) } }
                        }
                    }
                }
            }
        }
    }
}

fn rig(report: &Report) -> Markup {
    html! {
        @if !report.rig.is_empty() {
            h2 { "Rig" }
            table {
                thead { tr { th { "wire" } th.n { "tension" } th { "of" } th { "words" } } }
                tbody {
                    @for stored in &report.rig {
                        @let reading = &stored.reading;
                        tr {
                            td { (reading.gear.as_deref().unwrap_or("not said which")) }
                            td.n { span.value { (figure::range(reading.low, reading.high, &reading.unit)) } }
                            td.d { @if let Some(at) = reading.at { (at.at.format("%-d %b %Y").to_string()) } }
                            td { "“" (shortened(&reading.quote, 60)) "” " span.from { (stored.name) } }
                        }
                    }
                }
            }
            p.small { "In % of breaking load. The rigger's figures come first." }
        }
    }
}

fn budget(report: &Report) -> Markup {
    let lines = report.budget.iter().flat_map(|budget| &budget.lines).filter(|line| !line.figures.is_empty());
    let lines: Vec<_> = lines.collect();
    html! {
        @if !lines.is_empty() {
            h2 { "What the passage takes" }
            @for line in lines {
                h3 { (line.name) }
                dl { @for figure in &line.figures { dt { (figure.name) } dd { (figure.text()) } } }
                @if !line.from.is_empty() { p.from { "from " (line.from.join("; ")) } }
            }
            p.small { (CAUTION) "." }
        }
    }
}

fn dates(report: &Report) -> Markup {
    html! {
        @if !report.dates.is_empty() {
            h2 { "Dates of gear" }
            table {
                thead { tr { th { "gear" } th { "what" } th { "when" } } }
                tbody {
                    @for (gear, due) in &report.dates {
                        tr { td { (gear) } td { (due.what) } td { (days(due.from, due.until))
                            @if report.list.voyage.back.is_some_and(|back| due.from <= back) { " " span.bad { "before she is back" } } } }
                    }
                }
            }
        }
    }
}

fn crew(report: &Report) -> Markup {
    html! {
        (voyage(report))
        h2 { "Where things are" }
        @if report.stowed.is_empty() { p { "No note says. Ask the skipper." } }
        @else { dl { @for one in &report.stowed { dt { (one.gear) } dd { "“" (one.words) "” " span.from { (one.source) } } } } }
        h2 { "Not proved" }
        @let reasons = [Why::FailedTrial, Why::Unproven, Why::InconclusiveTrial, Why::OutOfLimits];
        @let unproved: Vec<&Open> = report.list.open.iter().filter(|item| item.why.is_some_and(|why| reasons.contains(&why))).collect();
        @if unproved.is_empty() { p { "No note speaks of any. That does not say that all was tried." } }
        ul { @for item in unproved {
            li { strong { (called(item)) } @if let Some(reason) = item.why { ": " (why(reason)) }
                @if let Some(latest) = item.evidence.last() { p { "“" (shortened(&latest.quote, LONGEST)) "”" } } }
        } }
        (accepted(report))
        h2 { "Drilled, and how it went" }
        @if report.proved.is_empty() { p { "No note tells of a trial that was passed." } }
        ul { @for stored in &report.proved {
            li {
                strong { (stored.trial.gear) }
                @if let Some(at) = stored.trial.at { ", " (at.at.format("%-d %b %Y").to_string()) }
                p { "“" (shortened(&stored.trial.about, 300)) "” " span.from { (stored.name) } }
            }
        } }
    }
}

/// The sheet that leaves the boat: what was filled in for it, and dates of gear. No note is quoted.
fn ashore(report: &Report) -> Markup {
    let told = &report.ashore;
    let lines = [
        ("Boat", told.boat.clone()),
        ("People aboard", told.people.clone().or(report.passage.crew.map(|crew| crew.to_string()))),
        ("Route", told.route.clone()),
        ("Departure", report.list.voyage.leaves.map(figure::day)),
        ("Latest arrival", report.list.voyage.back.map(figure::day)),
        ("Checks in", told.check_in.clone()),
        ("When to call", told.call_when.clone()),
        ("Whom to call", told.call_whom.clone()),
    ];
    html! {
        dl {
            @for (name, value) in lines {
                dt { (name) }
                dd { @match value.filter(|value| !value.trim().is_empty()) {
                    Some(value) => (value), None => "not filled in" } }
            }
        }
        (dates(report))
    }
}
