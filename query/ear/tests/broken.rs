//! Broken models are refused in words, not with a panic. The model is the one at `LEADSMAN_TEST_MODEL_FILE`.

use std::fs;

use leadsman_ear::Ear;

/// Bytes that are kept of a model with a changed byte: the sizes, the filters, the vocabulary, and tensors of the smallest one.
const KEPT: usize = 2_000_000;

/// The model, or none with a line that says so.
fn model() -> Option<Vec<u8>> {
    let Some(path) = std::env::var_os("LEADSMAN_TEST_MODEL_FILE") else {
        println!("LEADSMAN_TEST_MODEL_FILE is not set: skipped");
        return None;
    };
    Some(fs::read(path).expect("LEADSMAN_TEST_MODEL_FILE names a file that can be read"))
}

fn refused(bytes: &[u8]) -> bool {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("model.bin");
    fs::write(&path, bytes).expect("a file");
    Ear::open(&path, 1).is_err_and(|error| error.to_string().len() > 10)
}

#[test]
fn a_model_that_is_cut_short_is_refused() {
    let Some(whole) = model() else { return };
    let mut length = 1;
    while length < whole.len() {
        assert!(refused(&whole[..length]), "{length} bytes of {}", whole.len());
        length = length * 3 + 7;
    }
    assert!(refused(&whole[..whole.len() - 1]));
}

#[test]
fn a_model_with_a_changed_byte_is_read_without_a_panic() {
    let Some(whole) = model() else { return };
    // Each of the sizes' bytes, then some of the words and tensors. The rest is cut off, so that all are refused.
    let places = (0..56).chain((56..400).map(|n| 650_000 + n * 2_111 % 900_000));
    for place in places {
        let mut bytes = whole[..KEPT.min(whole.len() - 1)].to_vec();
        bytes[place] ^= 0x81;
        assert!(refused(&bytes), "byte {place}");
    }
}
