//! Published sample sentences, a real boat's log, hostile input.

mod boat;
mod crosscheck;
mod hostile;
mod published;

use crate::Hints;
use crate::instrument::{Kind, Parsed, Sample, parse};

/// Reads a log and names every value: `quantity`, `quantity/reference`.
fn read(log: impl AsRef<[u8]>, name: &str) -> (Parsed, Vec<Sample>) {
    let mut samples = Vec::new();
    let hints = Hints { name: name.into(), ..Hints::default() };
    let parsed = parse(Kind::Nmea0183, log.as_ref(), &hints, &mut |sample| samples.push(sample));
    assert!(parsed.account.adds_up(), "{:?}", parsed.account);
    assert_eq!(parsed.account.values, samples.len() as u64);
    (parsed, samples)
}

fn named(parsed: &Parsed, samples: &[Sample]) -> Vec<(String, f64)> {
    samples
        .iter()
        .map(|sample| {
            let channel = &parsed.channels[sample.channel.index()];
            assert_eq!(channel.quantity, sample.quantity);
            let mut name = channel.quantity.name().to_owned();
            if !channel.reference.name().is_empty() {
                name = format!("{name}/{}", channel.reference.name());
            }
            if !channel.instance.is_empty() {
                name = format!("{name}#{}", channel.instance);
            }
            (name, sample.value)
        })
        .collect()
}

/// Puts the right checksum on a sentence, given without it.
fn summed(body: &str) -> String {
    format!("${body}*{:02X}\r\n", super::cut::checksum(body.as_bytes()))
}
