//! How a trial went, as a person types it.

use leadsman_ingest::Outcome;

/// Reads an outcome in any of its shapes: "pass", "failed", "worked". Errors: what was expected and found.
pub fn outcome(text: &str) -> Result<Outcome, String> {
    let text = text.trim();
    Ok(match text.to_lowercase().as_str() {
        "pass" | "passes" | "passed" | "ok" | "okay" | "good" | "works" | "worked" => Outcome::Pass,
        "partial" | "partly" | "partially" | "half" => Outcome::Partial,
        "fail" | "fails" | "failed" | "failure" | "failures" | "bad" | "broken" => Outcome::Fail,
        "unclear" | "unsure" | "unknown" | "open" => Outcome::Unclear,
        _ => return Err(format!("expected pass, partial, fail or unclear, found \"{text}\"")),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn outcomes_are_read_in_any_shape() {
        for outcome in [Outcome::Pass, Outcome::Partial, Outcome::Fail, Outcome::Unclear] {
            assert_eq!(super::outcome(outcome.name()), Ok(outcome));
        }
        assert_eq!(outcome("Failed"), Ok(Outcome::Fail));
        assert!(outcome("maybe").is_err());
    }
}
