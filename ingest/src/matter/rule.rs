//! The skipper's rulings on matters, each carried out as it comes in the order of the notes.

use super::{ClosedBy, Ledger, Matter, Ruling, Says, take_in, whole_name};

/// Carries out the skipper's word on a matter. One on a matter that is not there, or not in that state, changes
/// nothing: on another device, or on an earlier day, it may not be. `seen` is how many notes came before.
pub(super) fn rule(ledger: &mut Ledger, ruling: &Ruling, seen: usize) {
    let name = ruling.matter.as_str();
    match &ruling.says {
        Says::Close { because } => {
            if let Some(mut matter) = take(&mut ledger.open, name) {
                matter.closed = Some(ClosedBy {
                    by: "ruling".to_owned(),
                    quote: because.clone(),
                    evidence: None,
                    at: Some(ruling.at),
                    confirmed: true,
                    later_notes: seen,
                });
                ledger.closed.push(matter);
            }
        }
        Says::Reopen { .. } => {
            if find(&ledger.open, name).is_none()
                && let Some(mut matter) =
                    take(&mut ledger.closed, name).or_else(|| take(&mut ledger.dismissed, name))
            {
                matter.closed = None;
                ledger.open.push(matter);
            }
        }
        Says::Confirm => {
            if let Some(at) = find(&ledger.open, name).filter(|&at| ledger.open[at].is_doubtful()) {
                ledger.open[at].unsure = false;
                ledger.open[at].maybe_over = None;
            } else if let Some(at) = last(&ledger.closed, name)
                && let Some(closed) = &mut ledger.closed[at].closed
            {
                closed.confirmed = true;
            }
        }
        Says::Dismiss => {
            if let Some(matter) = take(&mut ledger.open, name).or_else(|| take(&mut ledger.closed, name)) {
                ledger.dismissed.push(matter);
            }
        }
        Says::Add { about, gear, why } => ledger.open.push(Matter {
            name: name.to_owned(),
            id: name.to_owned(),
            also: Vec::new(),
            gear: gear.clone(),
            about: about.clone(),
            why: vec![*why],
            due: None,
            evidence: Vec::new(),
            added: Some(ruling.at),
            joined: Vec::new(),
            earlier: Vec::new(),
            unsure: false,
            maybe_over: None,
            closed: None,
        }),
        Says::Join { with } => join(ledger, name, with),
        Says::Split { out } => split(ledger, name, out),
    }
}

fn find(matters: &[Matter], name: &str) -> Option<usize> {
    matters
        .iter()
        .position(|m| m.id.starts_with(name))
        .or_else(|| matters.iter().position(|m| m.answers_to(name)))
}

/// The latest of several that go by a name.
fn last(matters: &[Matter], name: &str) -> Option<usize> {
    matters
        .iter()
        .rposition(|m| m.id.starts_with(name))
        .or_else(|| matters.iter().rposition(|m| m.answers_to(name)))
}

fn take(matters: &mut Vec<Matter>, name: &str) -> Option<Matter> {
    last(matters, name).map(|at| matters.remove(at))
}

/// Joins open matters to the first; it keeps its name and its gear, and goes by theirs too.
fn join(ledger: &mut Ledger, name: &str, with: &[String]) {
    let Some(first) = find(&ledger.open, name) else { return };
    let mut matter = ledger.open.remove(first);
    for other in with {
        let Some(at) = find(&ledger.open, other) else { continue };
        let other = ledger.open.remove(at);
        take_in(&mut matter, other);
    }
    (matter.unsure, matter.maybe_over) = (false, None);
    ledger.open.insert(first.min(ledger.open.len()), matter);
}

/// Parts some of an open matter's evidence from it; at least one piece stays and one goes, or nothing is changed.
fn split(ledger: &mut Ledger, name: &str, out: &[String]) {
    let Some(at) = find(&ledger.open, name) else { return };
    let whole = &ledger.open[at];
    let (gone, kept): (Vec<_>, Vec<_>) =
        whole.evidence.iter().cloned().partition(|e| out.contains(&whole_name(&e.source, e.span)));
    if gone.is_empty() || kept.is_empty() {
        return;
    }
    let part = |evidence: Vec<super::Evidence>, whole: &Matter| {
        let mut why: Vec<_> = Vec::new();
        for reason in evidence.iter().rev().filter_map(|e| e.why) {
            if !why.contains(&reason) {
                why.push(reason);
            }
        }
        let id = evidence[0].id.clone();
        Matter {
            name: id.clone(),
            id,
            also: Vec::new(),
            about: evidence.iter().map(|e| e.quote.as_str()).collect::<Vec<_>>().join("; "),
            why: if why.is_empty() { whole.why.clone() } else { why },
            evidence,
            due: None,
            earlier: Vec::new(),
            joined: Vec::new(),
            unsure: false,
            maybe_over: None,
            ..whole.clone()
        }
    };
    let own = part(gone, whole);
    // The rest keeps its name, unless that is the name of what goes.
    let named = own.names().any(|name| name == whole.id);
    let rest = part(kept, whole);
    let id = if named { rest.id.clone() } else { whole.id.clone() };
    let rest = Matter {
        name: id.clone(),
        id,
        also: whole.also.clone(),
        due: whole.due.clone(),
        earlier: whole.earlier.clone(),
        joined: whole.joined.clone(),
        ..rest
    };
    ledger.open[at] = rest;
    ledger.open.push(own);
}
