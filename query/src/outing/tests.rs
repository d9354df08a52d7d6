use leadsman_ingest::Span;
use leadsman_ingest::matter::{Evidence, Ledger, Matter};

use super::*;
use crate::open_item::Voyage;

fn day(text: &str) -> NaiveDate {
    text.parse().expect("a day")
}

fn item(name: &str, gear: &str, words: &str, why: Why) -> Matter {
    Matter {
        name: name.to_owned(),
        gear: Some(gear.to_owned()),
        about: words.to_owned(),
        why: vec![why],
        due: None,
        evidence: vec![Evidence {
            source: "ab".repeat(32),
            name: "01.txt".to_owned(),
            at: None,
            span: Span::new(0, 1),
            quote: words.to_owned(),
            why: Some(why),
            ..Evidence::default()
        }],
        ..Matter::default()
    }
}

fn list(open: Vec<Matter>, leaves: Option<&str>) -> OpenList {
    let voyage = Voyage { leaves: leaves.map(day), ..Voyage::default() };
    OpenList::new(Ledger { open, ..Ledger::default() }, voyage, day("2026-09-01"), 1, 0)
}

fn placed(plan: &Outings) -> Vec<Vec<&str>> {
    plan.days.iter().map(|d| d.steps.iter().map(|s| s.item.as_str()).collect()).collect()
}

#[test]
fn a_day_goes_from_the_dock_to_open_water_and_into_the_dark() {
    let open = vec![
        item("aaaa", "sea anchor", "never streamed", Why::Unproven),
        item("bbbb", "steaming light", "went out", Why::FailedTrial),
        item("cccc", "second reef", "jammed", Why::FailedTrial),
        item("dddd", "forehatch", "leaks", Why::FailedTrial),
    ];
    let plan = Outings::new(&list(open, None), [], Some(1), Some(10.0));
    assert_eq!(placed(&plan), [["dddd", "cccc", "aaaa", "bbbb"]]);
    let out = &plan.days[0];
    // The reef wants 18 to 27 kn, the sea anchor 18 to 30.
    assert_eq!(out.wind_kn, Some((18.0, 27.0)));
    assert!(out.open_water && out.night && out.hands == 2);
    assert!(plan.unplaced.is_empty());
}

#[test]
fn winds_that_do_not_meet_part_the_days() {
    let open = vec![
        item("aaaa", "third reef", "never tried", Why::Unproven),
        item("bbbb", "compass", "never swung", Why::Unproven),
        item("cccc", "sea anchor", "never streamed", Why::Unproven),
    ];
    let plan = Outings::new(&list(open.clone(), None), [], Some(2), None);
    assert_eq!(placed(&plan), [vec!["cccc", "aaaa"], vec!["bbbb"]]);
    let plan = Outings::new(&list(open, None), [], Some(1), None);
    assert_eq!(plan.unplaced.len(), 1);
    assert_eq!(
        plan.unplaced[0].because,
        "wants 0 to 12 kn of wind; every day with hours left is for another wind"
    );
}

#[test]
fn hours_run_out_and_the_most_pressing_goes_first() {
    let open: Vec<Matter> = ["aaaa", "bbbb", "cccc"]
        .iter()
        .map(|name| item(name, "engine", "ran hot overnight", Why::FailedTrial))
        .collect();
    let plan = Outings::new(&list(open, None), [], Some(2), Some(9.0));
    assert_eq!(placed(&plan), [["aaaa"], ["bbbb"]]);
    assert_eq!(plan.unplaced[0].because, "no day has the hours left");
}

#[test]
fn errands_stay_ashore_and_what_hangs_on_them_waits() {
    let open = vec![
        item("aaaa", "heater", "goes out", Why::FailedTrial),
        item("bbbb", "heater", "must order a new burner", Why::Task),
        item("cccc", "liferaft", "service due", Why::Overdue),
    ];
    let plan = Outings::new(&list(open.clone(), None), [], Some(2), None);
    assert_eq!(placed(&plan), [vec![], vec!["aaaa"]]);
    assert_eq!(plan.days[1].steps[0].provided, ["bbbb has come"]);
    let errands: Vec<&str> = plan.errands.iter().map(|e| e.item.as_str()).collect();
    assert_eq!(errands, ["cccc", "bbbb"]);
    let plan = Outings::new(&list(open, None), [], Some(1), None);
    assert_eq!(plan.unplaced[0].because, "what it needs must come first, and no day follows");
}

#[test]
fn the_skippers_word_and_the_calendar_hold() {
    let entry = |decision| Entry {
        v: 1,
        id: String::new(),
        time: chrono::DateTime::default(),
        device: String::new(),
        day: None,
        decision,
    };
    let open = vec![
        item("aaaa", "forehatch", "leaks", Why::FailedTrial),
        item("bbbb", "aft hatch", "leaks", Why::FailedTrial),
        item("cccc", "window", "leaks", Why::FailedTrial),
    ];
    let decisions = [
        entry(Decision::PutOff { item: "aaaa".into(), until: day("2026-09-05") }),
        entry(Decision::Give { item: "bbbb".into(), to: "Ines".into() }),
        entry(Decision::Wait { item: "cccc".into(), r#for: "the seal".into(), due: Some(day("2026-09-20")) }),
    ];
    // Ten days, two of them out: the fourth and the seventh of September.
    let plan = Outings::new(&list(open, Some("2026-09-11")), &decisions, Some(2), None);
    let dates: Vec<_> = plan.days.iter().filter_map(|d| d.date).collect();
    assert_eq!(dates, [day("2026-09-04"), day("2026-09-07")]);
    assert_eq!(placed(&plan), [vec![], vec!["aaaa"]]);
    let because: Vec<&str> = plan.unplaced.iter().map(|l| l.because.as_str()).collect();
    assert_eq!(because, ["given to Ines", "waiting for the seal until Sun 20 Sep 2026"]);
}

#[test]
fn no_day_is_made_up() {
    let open = vec![item("aaaa", "forehatch", "leaks", Why::FailedTrial)];
    let gone = Outings::new(&list(open.clone(), Some("2026-08-30")), [], Some(4), None);
    assert!(gone.days.is_empty());
    assert_eq!(gone.unplaced[0].because, "no day is left before departure");
    let soon = Outings::new(&list(open, Some("2026-09-03")), [], Some(9), None);
    assert_eq!(soon.days.len(), 2);
}

#[test]
fn the_same_items_give_the_same_plan() {
    let open: Vec<Matter> = (0..40)
        .map(|n| {
            let gear = ["forehatch", "engine", "second reef", "sea anchor", "compass", "windlass"][n % 6];
            item(&format!("i{n:03}"), gear, "did not do it", Why::FailedTrial)
        })
        .collect();
    let list = list(open, Some("2026-10-01"));
    let plan = Outings::new(&list, [], Some(5), None);
    assert_eq!(plan, Outings::new(&list, [], Some(5), None));
    let steps: usize = plan.days.iter().map(|d| d.steps.len()).sum();
    assert_eq!(steps + plan.unplaced.len() + plan.errands.len(), 40, "nothing is lost");
    for day in &plan.days {
        assert!(day.hours <= plan.hours_a_day + 1e-9);
        for step in &day.steps {
            if let (Some(day), Some(item)) = (day.wind_kn, step.needs.wind_kn) {
                assert!(item.0 <= day.0 && item.1 >= day.1, "the day's wind suits each of its items");
            }
        }
    }
}
