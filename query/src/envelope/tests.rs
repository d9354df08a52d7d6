use super::*;

fn attempt(place: usize, outcome: Outcome, reach: &[(Axis, f64)]) -> Attempt {
    Attempt {
        on: None,
        outcome,
        reach: reach.iter().copied().collect(),
        measured: Vec::new(),
        void_because: None,
        quote: String::new(),
        from: String::new(),
        span: Span::default(),
        place: (place, 0),
    }
}

fn need(needed: &[(Axis, f64, f64)]) -> Need {
    let needed: BTreeMap<Axis, (f64, f64)> = needed.iter().map(|(a, f, t)| (*a, (*f, *t))).collect();
    Need {
        text: needed_words(&needed),
        needed,
        covered: false,
        gap: String::new(),
        quote: String::new(),
        from: PASSAGE.to_owned(),
        span: None,
    }
}

fn judged(mut need: Need, passed: &[Attempt], failed: &[Attempt]) -> Need {
    judge(&mut need, passed, failed);
    need
}

#[test]
fn it_is_said_in_a_line() {
    let passed = [attempt(1, Outcome::Pass, &[(Axis::Wind, 20.0), (Axis::Waves, 1.5)])];
    let need = judged(need(&[(Axis::Wind, 40.0, 45.0)]), &passed, &[]);
    assert_eq!(
        summary(&passed, &[], &[], &[need]),
        "proved up to 20 kn and 1.5 m; needed at 40 to 45 kn: not proved above 20 kn"
    );
}

#[test]
fn a_joint_claim_needs_one_trial_that_had_it_all() {
    let apart = [
        attempt(1, Outcome::Pass, &[(Axis::Wind, 45.0), (Axis::Hands, 2.0)]),
        attempt(2, Outcome::Pass, &[(Axis::Wind, 12.0), (Axis::Hands, 1.0)]),
    ];
    let both = need(&[(Axis::Wind, 40.0, 40.0), (Axis::Hands, 1.0, 1.0)]);
    let found = judged(both.clone(), &apart, &[]);
    assert!(!found.covered);
    assert_eq!(found.gap, "each proved by itself, never all in one trial");
    let one = [attempt(3, Outcome::Pass, &[(Axis::Wind, 41.0), (Axis::Hands, 1.0)])];
    assert!(judged(both, &one, &[]).covered);
}

#[test]
fn what_is_unknown_widens_nothing() {
    let passed = [attempt(1, Outcome::Pass, &[(Axis::Waves, 4.0)])];
    let found = judged(need(&[(Axis::Wind, 30.0, 30.0)]), &passed, &[]);
    assert_eq!((found.covered, found.gap.as_str()), (false, "no trial that passed tells the wind"));
}

#[test]
fn a_later_failure_in_no_harder_conditions_undoes_a_pass() {
    let passed = [attempt(1, Outcome::Pass, &[(Axis::Wind, 30.0)])];
    let asked = need(&[(Axis::Wind, 25.0, 25.0)]);
    let failed = |place, wind| [attempt(place, Outcome::Fail, &[(Axis::Wind, wind)])];
    assert!(!judged(asked.clone(), &passed, &failed(2, 20.0)).covered);
    assert!(
        judged(asked.clone(), &passed, &failed(2, 45.0)).covered,
        "a failure in a harder blow says nothing of it"
    );
    assert!(
        judged(asked.clone(), &passed, &failed(0, 20.0)).covered,
        "an earlier one is put right by the pass"
    );
    assert!(
        !judged(asked, &passed, &[attempt(2, Outcome::Fail, &[])]).covered,
        "one in unknown conditions counts"
    );
}

#[test]
fn cold_needs_cold() {
    let passed = [attempt(1, Outcome::Pass, &[(Axis::Air, 5.0)])];
    let found = judged(need(&[(Axis::Air, -2.0, -2.0)]), &passed, &[]);
    assert_eq!(found.gap, "not proved below 5 °C outside");
}

/// Facts of the trade: what a passage's worst case asks of which gear. Common practice, no source.
#[test]
fn the_asks_name_gear_and_groups_of_the_lexicon() {
    for ask in ASKS.iter() {
        assert!(ask.gear.is_some() != ask.group.is_some(), "{ask:?}");
        assert!(!ask.asks.is_empty());
        if let Some(name) = &ask.gear {
            assert!(gear::by_name(name).is_some_and(|g| g.name == *name), "{name}");
        }
        if let Some(group) = &ask.group {
            assert!(gear::all().iter().any(|g| g.group == *group), "{group}");
        }
    }
}
