//! What every reader of instrument logs must keep on any input.

use leadsman_ingest::Hints;
use leadsman_ingest::instrument::{Kind, Minutes, parse};

/// Reads bytes as a log: every record is accounted for, every value lies in its range, every minute is in order.
pub fn read(kind: Kind, bytes: &[u8]) {
    let hints = Hints { name: "2026-05-09.log".into(), ..Hints::default() };
    let mut minutes = Minutes::default();
    let mut values = 0;
    let mut check = |minute: leadsman_ingest::instrument::Minute| {
        assert!(minute.count > 0 && minute.min <= minute.mean && minute.mean <= minute.max);
    };
    let parsed = parse(kind, bytes, &hints, &mut |sample| {
        assert!(sample.quantity.holds(sample.value));
        assert!(sample.offset < bytes.len() as u64);
        values += 1;
        minutes.add(&sample, &mut check);
    });
    minutes.finish(&mut check);
    assert!(parsed.account.adds_up());
    assert_eq!(parsed.account.values, values);
    parsed.note(&hints);
}
