//! Times in front, tag blocks, junk, and everything that a log should not hold. The logs are our own.

use proptest::prelude::*;

use super::{named, read, summed};
use crate::instrument::log::Each;
use crate::instrument::stamp::show;
use crate::instrument::{Refusal, TimeBasis};

const WIND: &str = "$WIMWV,57.5,R,13.0,N,A*26";

#[test]
fn times_in_front() {
    for (front, want) in [
        ("2026-05-09T10:11:12.345Z ", "2026-05-09T10:11:12Z"),
        ("2026-05-09 10:11:12+02:00;", "2026-05-09T08:11:12Z"),
        ("[2026-05-09 10:11:12] ", "2026-05-09T10:11:12Z"),
        ("1778321472 ", "2026-05-09T10:11:12Z"),
        ("1778321472.345,", "2026-05-09T10:11:12Z"),
        ("1778321472345\t", "2026-05-09T10:11:12Z"),
        ("(1778321472.345) ", "2026-05-09T10:11:12Z"),
        ("\"10:11:12.345\",\"", "2026-05-09T10:11:12Z"),
        ("10:11:12: ", "2026-05-09T10:11:12Z"),
    ] {
        let (parsed, samples) = read(format!("{front}{WIND}\r\n"), "2026-05-09.log");
        assert_eq!(parsed.account.used["MWV"], 1, "{front}");
        let at = samples[0].at.unwrap_or_else(|| panic!("a time in {front}"));
        assert_eq!(show(at.micros), want, "{front}");
    }
    let (parsed, samples) = read(format!("three o'clock {WIND}\r\n"), "");
    assert_eq!(samples[0].at, None);
    assert_eq!(parsed.account.values_refused[0].reason, Refusal::Junk);
}

#[test]
fn clock_times_without_an_offset_take_the_receivers() {
    let log = format!(
        "20:05:10 {}20:05:11 {WIND}\r\n",
        summed("GPRMC,100510,A,4250.00,S,14720.00,E,5.6,230.5,090526,,,A")
    );
    let (parsed, samples) = read(log, "");
    let at = samples.last().expect("wind").at.expect("a time");
    assert_eq!(show(at.micros), "2026-05-09T10:05:11Z");
    assert_eq!(parsed.clock.offset, Some((36_000, "the receiver's own time")));
}

#[test]
fn tag_blocks() {
    let block = |inside: &str| format!("\\{inside}*{:02x}\\", super::super::cut::checksum(inside.as_bytes()));
    let (parsed, samples) = read(format!("{}{WIND}\r\n", block("s:mast,c:1778321472")), "");
    assert_eq!(show(samples[0].at.expect("a time").micros), "2026-05-09T10:11:12Z");
    assert!(parsed.account.values_refused.is_empty());
    // A wrong sum: the time is not believed, the sentence is.
    let (parsed, samples) = read(format!("\\s:mast,c:1778321472*00\\{WIND}\r\n"), "");
    assert_eq!((samples.len(), samples[0].at), (2, None));
    assert_eq!(parsed.account.refused_for(Refusal::Junk), 1);
}

#[test]
fn junk_and_binary_between_lines() {
    let mut log = Vec::new();
    log.extend_from_slice(b"\xff\xfe\x00garbage$$$ $GP\n\n");
    log.extend_from_slice(WIND.as_bytes());
    log.extend_from_slice(b"\r\n\x1b[31mOpening port\n");
    log.extend_from_slice(b"\x00\x01$GPRM$WIMWV,57.5,R,13.0,N,A*26\x07trailing\n# a comment\n");
    log.extend_from_slice(
        b"!AIVDM,1,1,,A,13u?etPv2;0n:dDPwUM1U1Cb069D,0*24\r\n$PGRME,15.0,M,45.0,M,25.0,M*1C\r\n",
    );
    let (parsed, samples) = read(&log, "");
    assert_eq!(parsed.account.used["MWV"], 2);
    assert_eq!(samples.len(), 4);
    assert_eq!(parsed.account.blank, 1);
    assert_eq!(parsed.account.ignored["!VDM"], 1);
    assert_eq!(parsed.account.ignored["PGRME"], 1);
    assert_eq!(parsed.account.ignored["#"], 1);
    assert_eq!(parsed.account.lines, 8);
    let place = log.windows(7).rposition(|w| w == b"$WIMWV,").expect("the second wind");
    assert_eq!(samples[3].offset, place as u64);
}

#[test]
fn lines_that_end_in_a_carriage_return_alone() {
    let (parsed, samples) = read(format!("{WIND}\r$INMTW,17.9,C*1B\r{WIND}\r"), "");
    assert_eq!((parsed.account.records, samples.len()), (3, 5));
}

#[test]
fn truncated_and_wrong() {
    let log = format!(
        "{WIND}\r\n$WIMWV,57.5,R,13.0,N,A*27\r\n$WIMWV,57.5,R,1\r\n$WIMWV,57.5,R,13.0,N,A*2\r\n\
         $WIMWV,57.5,$WIMWV,57.5,R,13.0,N,A*26\r\n$WIMWV,57.5,R,1"
    );
    let (parsed, samples) = read(log, "");
    assert_eq!(samples.len(), 4);
    let reasons: Vec<_> =
        parsed.account.refused.iter().map(|r| (r.kind.as_str(), r.reason, r.lines.clone())).collect();
    assert_eq!(
        reasons,
        [
            ("MWV", Refusal::Truncated, vec![4, 5, 6]),
            ("MWV", Refusal::Checksum, vec![2]),
            ("MWV", Refusal::NoChecksum, vec![3]),
        ]
    );
}

#[test]
fn a_log_without_any_checksums_is_read() {
    let (parsed, samples) = read("$WIMWV,57.5,R,13.0,N,A\r\n$INMTW,17.9,C\r\n$INMTW,1", "");
    assert_eq!(samples.len(), 3);
    assert_eq!(parsed.account.refused_for(Refusal::Truncated), 1);
}

#[test]
fn a_rolled_over_receiver_is_put_right_and_said() {
    // 2006-09-23 is 1,024 weeks before 2026-05-09.
    let log = summed("GPRMC,101112,A,4250.00,S,14720.00,E,5.6,230.5,230906,,,A");
    let (parsed, samples) = read(&log, "boat-2026-05-09.log");
    let at = samples[0].at.expect("a time");
    assert_eq!((show(at.micros).as_str(), at.basis), ("2026-05-09T10:11:12Z", TimeBasis::Record));
    assert!(parsed.notices[0].message.contains("rolled over"), "{:?}", parsed.notices);
    let (parsed, samples) = read(format!("2026-05-09T10:11:12Z {log}"), "");
    assert_eq!(show(samples[0].at.expect("a time").micros), "2026-05-09T10:11:12Z");
    assert!(parsed.notices[0].message.contains("the times in front of the lines"), "{:?}", parsed.notices);
    // Without evidence the receiver is believed.
    let (parsed, samples) = read(&log, "");
    assert_eq!(show(samples[0].at.expect("a time").micros), "2006-09-23T10:11:12Z");
    assert!(parsed.notices.is_empty());
}

#[test]
fn time_running_backwards_is_counted() {
    let mut log = String::new();
    for second in [10, 20, 5, 6, 30] {
        log += &summed(&format!("GPZDA,1011{second:02},09,05,2026,00,00"));
        log += WIND;
        log += "\r\n";
    }
    let (parsed, samples) = read(log, "");
    assert_eq!(samples.len(), 10);
    assert_eq!((parsed.clock.backwards, parsed.clock.backwards_line), (1, Some(5)));
    assert_eq!(parsed.clock.backwards_most_s, 15.0);
}

/// 64 MB without a line break, of each kind that could make a reader go back over it again and again.
#[test]
fn one_endless_line() {
    let mut reader = super::super::Reader::new(&crate::Hints::default());
    for unit in [&b"x"[..], b"$", b"$GPRMC,", b"\\", b"\\s:", b"!AIVDM,"] {
        let line = unit.repeat((64 << 20) / unit.len() / 6);
        let mut values = 0;
        reader.feed(&line, &mut Each(&mut |_| values += 1));
        assert_eq!(values, 0);
    }
    let parsed = reader.close();
    assert!(parsed.account.adds_up());
    assert_eq!(parsed.account.lines, 1);
    assert!(parsed.account.refused.iter().all(|r| r.lines.len() <= crate::instrument::account::EXAMPLES));
}

#[test]
fn a_flood_of_transducers_is_bounded() {
    let mut log = String::new();
    for n in 0..20_000 {
        log += &summed(&format!("IIXDR,C,20.0,C,T{n}"));
    }
    let (parsed, _) = read(log, "");
    assert!(parsed.channels.len() <= crate::instrument::channel::CHANNELS_MAX);
    assert!(parsed.account.refused_for(Refusal::TooMany) > 10_000);
}

#[test]
fn fields_at_their_limits() {
    for body in [
        "GPRMC,999999999999999999,A,,,,,,,,,",
        "GPGLL,9999999999999999.9,N,0.000000000000000001,E",
        "GPGLL,0.00000000000001,N,00000.00,E",
        "GPZDA,000000,31,02,2026,00,00",
        "GPZDA,000000,01,01,999999999999,00,00",
        "GPRMC,000000.0000000000,A,0000.0,N,00000.0,E,0,0,010126,,",
        "IIRPM,E,99999999999,100,,A",
        "SDDPT,-5,0",
        "IIMWV,-0.1,R,5,N,A",
        "IIHDT,400,T",
        "IIXDR",
        "IIXDR,",
        "IIXDR,,,,",
    ] {
        let (parsed, samples) = read(summed(body), "2026-01-01.log");
        for sample in &samples {
            assert!(sample.quantity.holds(sample.value), "{body}: {:?}", named(&parsed, &samples));
        }
    }
}

proptest! {
    #[test]
    fn never_panics_on_bytes(bytes in proptest::collection::vec(any::<u8>(), 0..400)) {
        read(&bytes, "2026-05-09.log");
    }

    #[test]
    fn never_panics_on_fields(
        address in "(II|GP|\\PC{2})(MWV|MWD|VWR|VWT|VHW|VTG|RMC|GGA|GLL|HDG|HDM|DPT|DBT|MTW|MDA|XDR|VLW|ROT|RPM|RSA|ZDA|BWC)",
        fields in proptest::collection::vec("[-+]?[0-9]{0,20}\\.?[0-9]{0,20}|[A-Z]?|\\PC{0,6}", 0..20),
        front in "[0-9:TZ. -]{0,30}",
    ) {
        let body = format!("{address},{}", fields.join(","));
        let (_, samples) = read(format!("{front}{}", summed(&body)), "2026-05-09.log");
        for sample in samples {
            prop_assert!(sample.quantity.holds(sample.value));
        }
    }

    #[test]
    fn a_log_reads_the_same_in_pieces(cut in 0usize..200) {
        let log = format!("{WIND}\r\njunk\r\n$INMTW,17.9,C*1B\r\n10:11:12 {WIND}\r\n").into_bytes();
        let cut = log[..cut.min(log.len())].iter().rposition(|&b| b == b'\n').map_or(0, |n| n + 1);
        let (whole, samples) = read(&log, "2026-05-09.log");
        let mut reader = super::super::Reader::new(&crate::Hints { name: "2026-05-09.log".into(), ..Default::default() });
        let mut pieces = Vec::new();
        reader.feed(&log[..cut], &mut Each(&mut |sample| pieces.push(sample)));
        reader.feed(&log[cut..], &mut Each(&mut |sample| pieces.push(sample)));
        prop_assert_eq!(reader.close().account, whole.account);
        prop_assert_eq!(pieces, samples);
    }
}
