//! What the tests of the reckonings share.

/// Fails unless `found` is within `tolerance` of `expected`.
///
/// # Panics
/// When it is not; that is its purpose.
#[track_caller]
pub fn near(found: f64, expected: f64, tolerance: f64) {
    assert!(
        (found - expected).abs() <= tolerance,
        "expected {expected} within {tolerance}, found {found} (off by {})",
        found - expected
    );
}

/// Reads a file of outside test data, or says that it is not there and gives nothing.
pub fn outside(path: &str) -> Option<String> {
    let path = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../../shared/outside").join(path);
    match std::fs::read_to_string(&path) {
        Ok(text) => Some(text),
        Err(error) => {
            println!("skipped: {} is not there ({error})", path.display());
            None
        }
    }
}
