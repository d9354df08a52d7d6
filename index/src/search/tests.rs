//! Tests of searching: what is found, in which order, and with which words marked.

use std::collections::BTreeSet;

use chrono::{DateTime, FixedOffset};
use leadsman_ingest::{Outcome, Span};

use super::*;

fn at(text: &str) -> DateTime<FixedOffset> {
    DateTime::parse_from_rfc3339(text).unwrap()
}

fn said(n: usize, text: &str) -> Document {
    Document {
        kind: DocumentKind::Utterance,
        source: SourceId::of(b"one"),
        n,
        at: Some(at("2026-03-14T10:05:00+11:00") + chrono::TimeDelta::minutes(n as i64)),
        span: Span::new(n * 100, n * 100 + text.len()),
        gear: Vec::new(),
        quantities: Vec::new(),
        outcome: None,
        open: None,
        wind_kn: None,
        text: text.to_owned(),
    }
}

fn documents() -> Vec<Document> {
    let trial = |n, gear: &str, outcome, wind, text| Document {
        kind: DocumentKind::Trial,
        gear: vec![gear.to_owned()],
        quantities: vec!["true_wind_speed".to_owned()],
        outcome: Some(outcome),
        wind_kn: Some(wind),
        ..said(n, text)
    };
    vec![
        said(0, "The heater ran all night and the tank went down by two litres."),
        said(1, "Steering with the rudder locked, we got nothing out of the bow."),
        said(2, "Heaters like this one want a service."),
        said(3, "The locked rudder was the whole point of it."),
        trial(4, "drogue", Outcome::Fail, (18.0, 25.0), "drogue: no response at all from the bow"),
        trial(5, "drogue", Outcome::Pass, (8.0, 12.0), "drogue: slowed her from six to three and a half"),
        trial(6, "staysail", Outcome::Partial, (20.0, 22.0), "inner headsail pointed, only just"),
        Document {
            kind: DocumentKind::Item,
            open: Some(true),
            ..said(7, "replace the sheet of the staysail")
        },
        Document { kind: DocumentKind::Item, open: Some(false), ..said(8, "grease the windlass") },
    ]
}

fn index(documents: &[Document]) -> (tempfile::TempDir, Search) {
    let folder = tempfile::tempdir().unwrap();
    let search = crate::bench::build_search(folder.path(), documents.iter().cloned()).unwrap();
    (folder, search)
}

fn numbers(search: &Search, find: &Find) -> Vec<usize> {
    search.find(find).unwrap().hits.iter().map(|hit| hit.document.n).collect()
}

fn asked(words: &str) -> Find {
    Find::new(words).unwrap()
}

#[test]
fn words_are_found_by_their_stem_and_marked() {
    let (_folder, search) = index(&documents());
    let found = search.find(&asked("heating")).unwrap();
    assert!(found.hits.is_empty() || found.slips.is_empty(), "{found:?}");
    let found = search.find(&asked("HEATERS")).unwrap();
    let numbers: BTreeSet<_> = found.hits.iter().map(|hit| hit.document.n).collect();
    assert_eq!(numbers, BTreeSet::from([0, 2]));
    for hit in &found.hits {
        assert!(hit.complete && hit.score > 0.0);
        let marked: Vec<_> = hit.marks.iter().map(|mark| &hit.piece[mark.clone()]).collect();
        assert!(marked == ["heater"] || marked == ["Heaters"], "{marked:?}");
    }
}

#[test]
fn all_words_come_before_some() {
    let (_folder, search) = index(&documents());
    let found = search.find(&asked("rudder bow")).unwrap();
    assert_eq!(found.hits[0].document.n, 1);
    assert!(found.hits[0].complete);
    let rest: BTreeSet<_> = found.hits[1..].iter().map(|hit| (hit.document.n, hit.complete)).collect();
    assert_eq!(rest, BTreeSet::from([(3, false), (4, false)]));
}

#[test]
fn a_phrase_is_found_in_its_order() {
    let (_folder, search) = index(&documents());
    assert_eq!(numbers(&search, &asked("\"rudder locked\"")), [1]);
    assert_eq!(numbers(&search, &asked("“locked rudder”")), [3]);
    assert_eq!(numbers(&search, &asked("\"rudder the locked\"")), Vec::<usize>::new());
    assert!(matches!(Find::new("say \"rudder"), Err(Error::Question { .. })));
}

#[test]
fn a_slip_of_one_letter_is_forgiven_and_told() {
    let (_folder, search) = index(&documents());
    for (slip, number) in
        [("drouge", 4), ("windlas", 8), ("staysial", 7), ("steerng", 1), ("\"ruder locked\"", 1)]
    {
        let found = search.find(&asked(slip)).unwrap();
        assert!(found.hits.iter().any(|hit| hit.document.n == number), "{slip}: {found:?}");
        assert_eq!(found.slips.len(), 1, "{slip}");
        assert!(!found.hits[0].marks.is_empty(), "{slip}");
    }
    let found = search.find(&asked("xylophone bow")).unwrap();
    assert_eq!(found.unknown, ["xylophone"]);
    assert!(found.hits.iter().all(|hit| !hit.complete));
    assert_eq!(search.find(&asked("xylophone")).unwrap().hits, []);
}

#[test]
fn other_names_of_the_gear_will_do() {
    let (_folder, search) = index(&documents());
    let mut find = asked("staysail");
    assert_eq!(numbers(&search, &find), [7]);
    find.words[0].also.push("inner headsail".to_owned());
    assert_eq!(BTreeSet::from_iter(numbers(&search, &find)), BTreeSet::from([6, 7]));
}

#[test]
fn filters_leave_out_what_does_not_fit() {
    let (_folder, search) = index(&documents());
    let find = |change: fn(&mut Find)| {
        let mut find = Find { limit: 20, ..Find::default() };
        change(&mut find);
        numbers(&search, &find)
    };
    assert_eq!(find(|f| f.gear = vec!["drogue".into()]), [5, 4]);
    assert_eq!(find(|f| f.outcomes = vec![Outcome::Fail, Outcome::Partial]), [6, 4]);
    assert_eq!(find(|f| f.kinds = vec![DocumentKind::Item]), [8, 7]);
    assert_eq!(find(|f| f.open = Some(true)), [7]);
    assert_eq!(find(|f| f.quantities = vec!["true_wind_speed".into()]), [6, 5, 4]);
    assert_eq!(find(|f| f.wind_kn = Some((20.0, 30.0))), [6, 4]);
    assert_eq!(find(|f| f.wind_kn = Some((12.0, 18.0))), [5, 4]);
    assert_eq!(find(|f| f.since = Some(at("2026-03-13T23:11:00Z").into())), [8, 7, 6]);
    assert_eq!(find(|f| f.until = Some(at("2026-03-13T23:07:00Z").into())), [1, 0]);
    assert_eq!(find(|f| (f.words, f.gear) = (asked("bow").words, vec!["drogue".into()])), [4]);
    assert_eq!(find(|f| f.limit = 2), [8, 7]);
    assert_eq!(find(|f| f.limit = 0), Vec::<usize>::new());
}

#[test]
fn documents_come_back_as_they_went_in() {
    let mut documents = documents();
    let (_folder, search) = index(&documents);
    documents.sort_by_key(|d| (d.source, d.kind, d.n));
    assert_eq!(search.all().unwrap(), documents);
    assert!(search.damaged_files().unwrap().is_empty());
}

#[test]
fn a_document_is_replaced_not_doubled() {
    let (folder, search) = index(&documents());
    assert!(Indexer::resume(folder.path(), "another").unwrap().is_none());
    let mut indexer = Indexer::resume(folder.path(), "bench").unwrap().unwrap();
    indexer.forget(&SourceId::of(b"one"));
    let changed = said(0, "The heater ran all day.");
    indexer.add(&changed).unwrap();
    indexer.commit("next").unwrap();
    assert_eq!(search.len(), documents().len(), "a reader keeps what it opened");
    let search = Search::open(folder.path()).unwrap();
    assert_eq!(search.all().unwrap(), [changed]);
    assert_eq!(search.stamp().unwrap().as_deref(), Some("next"));
    assert_eq!(numbers(&search, &asked("heater")), [0]);
}

#[test]
fn a_long_text_is_cut_around_the_words() {
    let long = format!("{} the windlass seized again {}", "blah ".repeat(100), "blah ".repeat(100));
    let (_folder, search) = index(&[said(0, &long)]);
    let hit = search.find(&asked("windlass")).unwrap().hits.remove(0);
    assert!(hit.piece.chars().count() <= 200, "{}", hit.piece.len());
    assert_eq!(hit.marks.iter().map(|m| &hit.piece[m.clone()]).collect::<Vec<_>>(), ["windlass"]);
}
