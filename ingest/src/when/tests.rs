use std::path::{Path, PathBuf};

use chrono::{DateTime, FixedOffset, NaiveDateTime};
use chrono_tz::Tz;
use serde_json::Value;

use crate::found::{Basis, Note};
use crate::{Hints, read};

/// Reads a note with a zone of its own, and compares `recorded`, its basis, and a part of where it came from.
fn check(name: &str, text: &str, recorded: &str, basis: Basis, from: &str) -> Note {
    let hints =
        Hints { name: name.to_owned(), boat_offset: FixedOffset::east_opt(36_000), ..Hints::default() };
    check_with(&hints, text, recorded, basis, from)
}

fn check_with(hints: &Hints, text: &str, recorded: &str, basis: Basis, from: &str) -> Note {
    let note = read(text.as_bytes(), hints);
    let got = note.recorded.map(|r| (r.at.format("%Y-%m-%d %H:%M %:z").to_string(), r.basis));
    assert_eq!(
        got,
        Some((recorded.to_owned(), basis)),
        "{text:?} called {:?}: {}",
        hints.name,
        note.recorded_from
    );
    assert!(note.recorded_from.contains(from), "{text:?}: came from {}", note.recorded_from);
    note
}

#[test]
fn messages_begin_with_their_first_and_keep_one_order_of_day_and_month() {
    let told = |note: &Note| -> Vec<String> {
        note.utterances
            .iter()
            .filter_map(|u| u.at)
            .map(|at| at.at.format("%m-%d %H:%M").to_string())
            .collect()
    };
    let day_first =
        "[03/05/2026, 09:12] Ann: off\n[03/05/2026, 09:14] Tom: heater lit\n[13/05/2026, 10:00] Ann: home\n";
    let note = check("chat.txt", day_first, "2026-05-03 09:12 +10:00", Basis::Stated, "");
    assert_eq!(told(&note), ["05-03 09:12", "05-03 09:14", "05-13 10:00"]);
    assert!(note.notices.is_empty(), "{:?}", note.notices);
    let month_first = day_first.replace("03/05", "05/03").replace("13/05", "05/13");
    let note = check("chat.txt", &month_first, "2026-05-03 09:12 +10:00", Basis::Stated, "");
    assert_eq!(told(&note), ["05-03 09:12", "05-03 09:14", "05-13 10:00"]);
    // Where nothing tells, the skipper's word does, for all of them.
    let either = month_first.replace("05/13", "05/04");
    let recorded = DateTime::parse_from_rfc3339("2026-05-03T09:12:00+10:00").ok();
    let hints = Hints { name: "chat.txt".to_owned(), recorded, ..Hints::default() };
    assert_eq!(told(&read(either.as_bytes(), &hints)), ["05-03 09:12", "05-03 09:14", "05-04 10:00"]);
    assert_eq!(
        told(&read(either.as_bytes(), &Hints::default())),
        ["03-05 09:12", "03-05 09:14", "04-05 10:00"]
    );
}

#[test]
fn header_lines_as_people_write_them() {
    for (header, recorded) in [
        ("Quillback, Thursday 20 August 2026, 7.40 pm, aboard", "2026-08-20 19:40 +10:00"),
        ("recorded 02/09/2026 16:05, Wed", "2026-09-02 16:05 +10:00"),
        ("Rec 03/29/2026 3:18 PM  anchored at the Bight", "2026-03-29 15:18 +10:00"),
        ("16 Aug 2026 10:12 UTC+10", "2026-08-16 10:12 +10:00"),
        ("Voice memo, 2 August 2025, 17:55 (UTC+1)", "2025-08-02 17:55 +01:00"),
        ("voice 2026-09-20 09.50", "2026-09-20 09:50 +10:00"),
        ("2025-07-12 19:20 +01:00", "2025-07-12 19:20 +01:00"),
        ("clip 0017 recorded Sat 21 Mar 2026 09:42 -0400", "2026-03-21 09:42 -04:00"),
        ("Saturday May 9 2026, quarter past six in the evening, at the dock", "2026-05-09 18:15 +10:00"),
        ("Saturday 26 July 2025, ten past eleven in the morning, alongside", "2025-07-26 11:10 +10:00"),
        ("Thursday 4 September 2025, 21:15 Irish summer time (UTC+1), Dingle", "2025-09-04 21:15 +01:00"),
        ("14 June 2026 10:30 am ADT - Voice Memo", "2026-06-14 10:30 -03:00"),
        ("the 3rd of May, 2026 at half past two in the afternoon BST", "2026-05-03 14:30 +01:00"),
        ("Fri 22.05.2026, 14h25, local time Hobart", "2026-05-22 14:25 +10:00"),
        ("2026/05/22 1425 Pacific/Auckland", "2026-05-22 14:25 +12:00"),
        ("22-May-2026 at 2:25 p.m. NDT", "2026-05-22 14:25 -02:30"),
        ("May 22nd, 2026, noon-ish, 12:05 UTC−3", "2026-05-22 12:05 -03:00"),
        ("22 May '26, 0905 hrs, UTC", "2026-05-22 09:05 +00:00"),
    ] {
        let from = "the header line";
        check(
            "Recording 4.txt",
            &format!("{header}\n\nThe heater ran all night and never missed.\n"),
            recorded,
            Basis::Stated,
            from,
        );
    }
}

#[test]
fn what_is_left_out_is_completed() {
    let talk = "WEBVTT\n\n00:00.000 --> 00:04.000\nokay it's seven thirty in the\n\n00:04.000 --> 00:06.000\nmorning Saturday May the second and we go\n";
    check(
        "09-2026-05-02-try-it.vtt",
        talk,
        "2026-05-02 07:30 +10:00",
        Basis::Inferred,
        "the time in its first words",
    );
    check("2026-05-02-0815-try-it.vtt", talk, "2026-05-02 08:15 +10:00", Basis::Inferred, "the file's name");
    check(
        "06-2026-06-04-yard.txt",
        "Marigold, June 4\n\nThe raft is back.\n",
        "2026-06-04 12:00 +10:00",
        Basis::Inferred,
        "noon",
    );
    check(
        "2026-06-04-1620.txt",
        "Marigold, June 4\n\nThe raft is back.\n",
        "2026-06-04 16:20 +10:00",
        Basis::Inferred,
        "the time in the file's name",
    );
    check(
        "2026-05-09.md",
        "# Launch\n\n13:40 ADT, town float. Ros came.\n",
        "2026-05-09 13:40 -03:00",
        Basis::Inferred,
        "the date in the file's name",
    );
    let modified = Hints {
        modified: "2026-08-16T06:00:00Z".parse().ok(),
        boat_offset: FixedOffset::east_opt(36_000),
        ..Hints::default()
    };
    let sunday = "[0:00] right so sunday the sixteenth of august\n[0:04] half past two and we're off\n";
    check_with(
        &modified,
        sunday,
        "2026-08-16 14:30 +10:00",
        Basis::Inferred,
        "the year from the file's modification time",
    );
    let note = check_with(
        &modified,
        "The heater ran all night.\n",
        "2026-08-16 16:00 +10:00",
        Basis::FileTime,
        "the file's modification time",
    );
    assert!(note.utterances.iter().all(|u| u.at.is_some_and(|at| at.basis == Basis::FileTime)));
    let log = check_with(
        &modified,
        "0935 off\n1010 main\n",
        "2026-08-16 09:35 +10:00",
        Basis::FileTime,
        "the file's modification time",
    );
    assert!(log.utterances.iter().all(|u| u.at.is_some_and(|at| at.basis == Basis::FileTime)));
    let nothing = read(b"The heater ran all night.\n", &Hints::default());
    assert_eq!(nothing.recorded, None);
    assert!(nothing.notices[0].message.starts_with("expected a date in the note's first lines"));
}

#[test]
fn the_skipper_wins() {
    let recorded = DateTime::parse_from_rfc3339("2026-01-02T03:04:00+05:00").ok();
    let hints = Hints { recorded, name: "2026-08-16-1012.txt".to_owned(), ..Hints::default() };
    let note = check_with(
        &hints,
        "Sat 29 Aug 2026, 0935\n\nAll well.\n",
        "2026-01-02 03:04 +05:00",
        Basis::Stated,
        "--recorded",
    );
    assert_eq!(note.zone, "UTC+05:00, from --recorded");
}

#[test]
fn day_and_month_by_the_notes_own_evidence() {
    let both = |header: &str, rest: &str| format!("{header}\n\n{rest}\n");
    for (name, text, recorded) in [
        // The day of the week: 3 April 2026 is a Friday, 4 March a Wednesday.
        ("a.txt", both("Wed 03/04/2026 10:00", "x."), "2026-03-04 10:00 +10:00"),
        ("a.txt", both("Fri 03/04/2026 10:00", "x."), "2026-04-03 10:00 +10:00"),
        ("a.txt", both("03/04/2026 10:00", "Wednesday again, and cold."), "2026-03-04 10:00 +10:00"),
        ("2026-03-04-x.txt", both("03/04/2026 10:00", "x."), "2026-03-04 10:00 +10:00"),
        ("a.txt", both("03/04/2026 10:00", "March the fourth then."), "2026-03-04 10:00 +10:00"),
        ("a.txt", both("03/04/2026 10:00", "Rigged on 02/27/2026."), "2026-03-04 10:00 +10:00"),
        ("a.txt", both("03/04/2026 10:00", "Rigged on 27/02/2026."), "2026-04-03 10:00 +10:00"),
    ] {
        let note = check(name, &text, recorded, Basis::Stated, "the header line");
        assert!(
            note.notices.iter().all(|n| !n.message.contains("reads one way")),
            "{text}: {:?}",
            note.notices
        );
    }
    let note = check("a.txt", &both("03/04/2026 10:00", "x."), "2026-04-03 10:00 +10:00", Basis::Stated, "");
    assert_eq!(note.notices[0].line, Some(1));
    assert!(
        note.notices[0].message.contains("found 03/04: taken as day 3 of month 4"),
        "{}",
        note.notices[0].message
    );
}

#[test]
fn what_is_planned_or_began_is_not_when_the_note_was_made() {
    let text = "29 March 2026, 17:00\n\nSix weeks to go, we plan to leave May 14.\n";
    let note = check("note.txt", text, "2026-03-29 17:00 +10:00", Basis::Stated, "");
    assert_eq!(note.notices, []);
    let text = "okay wednesday evening the heater's been going since two o'clock it's ten past seven in the evening now\n";
    check("2026-03-25-heater.txt", text, "2026-03-25 19:10 +10:00", Basis::Inferred, "");
}

#[test]
fn what_does_not_agree_is_told() {
    let text = "Monday 16 August 2026, 10:12\n\nThe heater ran.\n";
    let note = check("2026-07-01.txt", text, "2026-08-16 10:12 +10:00", Basis::Stated, "");
    let told: Vec<&str> = note.notices.iter().map(|n| n.message.as_str()).collect();
    assert_eq!(
        told,
        [
            "expected the header's day and date to agree, found Mon 2026-08-16, which is a Sun: the date is taken",
            "expected the header and the file's name to agree, found 2026-08-16 and 2026-07-01: the header is taken",
        ]
    );
}

#[test]
fn a_log_goes_by_the_day_of_its_last_entry_too() {
    let text = "Tue 5 May 2026\n0900 Oil changed.\nFri 8 May 2026\n1000 Belt changed.\n";
    let note = check("02-2026-05-08-maint.txt", text, "2026-05-05 09:00 +10:00", Basis::Stated, "");
    assert_eq!(note.notices, []);
}

#[test]
fn zones_in_their_order() {
    let text = |zone: &str| format!("Sat 29 Aug 2026, 0935{zone}\n\nThe heater ran.\n");
    let hobart = Some((Tz::Australia__Hobart, "--zone".to_owned()));
    let machine = Some((Tz::Europe__Dublin, "this machine".to_owned()));
    let boat = FixedOffset::east_opt(-4 * 3600);
    for (zone, boat_offset, said, expect) in [
        (hobart.clone(), boat, ", UTC-3", "UTC-03:00, from the note (“UTC-3”)"),
        (hobart.clone(), boat, "", "Australia/Hobart, from --zone"),
        (machine.clone(), boat, "", "UTC-04:00, the boat's offset in her other notes"),
        (
            machine.clone(),
            FixedOffset::east_opt(0),
            "",
            "Europe/Dublin, from this machine, which fits the boat's other notes",
        ),
        (machine, None, "", "Europe/Dublin, from this machine"),
        (None, None, "", "UTC, for want of a zone"),
        (Some((Tz::Asia__Kolkata, "--zone".to_owned())), None, " IST", "UTC+05:30, from the note (“IST”)"),
    ] {
        let hints = Hints { zone, boat_offset, ..Hints::default() };
        let note = read(text(said).as_bytes(), &hints);
        assert_eq!(note.zone, expect);
        assert_eq!(note.zone_said, !said.is_empty());
        let guess = note.notices.iter().any(|n| n.message.contains("times are taken as UTC"));
        assert_eq!(guess, expect.starts_with("UTC, for want"), "said, never guessed silently");
    }
    let note = read(text(" IST").as_bytes(), &Hints::default());
    assert!(
        note.notices[0].message.contains("which can be UTC+01:00 or UTC+05:30: UTC+01:00 is taken"),
        "{:?}",
        note.notices
    );
}

/// Writes each utterance's day, time, basis and words.
fn times(text: &str) -> Vec<String> {
    let hints = Hints {
        name: "2026-08-29.txt".to_owned(),
        boat_offset: FixedOffset::east_opt(36_000),
        ..Hints::default()
    };
    let note = read(text.as_bytes(), &hints);
    let said = note.utterances.iter().filter(|u| u.kind.name() != "header");
    said.map(|u| {
        u.at.map_or(format!("- {}", u.text), |m| {
            format!("{} {} {}", m.at.format("%a %H:%M:%S"), m.basis, u.text)
        })
    })
    .collect()
}

#[test]
fn a_log_runs_past_midnight() {
    assert_eq!(
        times(
            "Log, Sat 29 / Sun 30 Aug 2026. Times UTC+10.\n\n2330 calm\nengine on\n0010 fog\n0005 forgot: horn\n2345 home\n1130 up\n\nMon 31 Aug\n\n1000 out\nTue 0900 in\n"
        ),
        [
            "Sat 23:30:00 stated calm",
            "Sat 23:30:00 inferred engine on",
            "Sun 00:10:00 stated fog",
            "Sun 00:05:00 stated forgot: horn",
            "Sun 23:45:00 stated home",
            "Mon 11:30:00 stated up",
            "Mon 10:00:00 stated out",
            "Tue 09:00:00 stated in",
        ]
    );
    assert_eq!(times("0935 off\n1010 main\n"), ["Sat 09:35:00 inferred off", "Sat 10:10:00 inferred main"]);
}

#[test]
fn cues_count_from_the_beginning() {
    assert_eq!(
        times("recorded 29 Aug 2026 10:00\n\n[0:05] one\n[1:02:03] two\n"),
        ["Sat 10:00:05 inferred one", "Sat 11:02:03 inferred two"]
    );
    assert_eq!(
        times("2026-08-29T09:35:00Z one\n2026-08-29 09:40 two\nand more\n"),
        ["Sat 09:35:00 stated one", "Sat 09:40:00 stated two", "Sat 09:40:00 inferred and more"]
    );
}

/// The corpus' own word on when its notes begin. Where the gold says nothing, no time may be claimed as stated.
#[test]
fn the_corpus_notes_begin_when_their_gold_says() {
    let corpus = Path::new(env!("CARGO_MANIFEST_DIR")).join("../fixtures/corpus");
    let mut compared = 0;
    for boat in ["quillback", "marigold", "corncrake", "saltmarsh"] {
        let mut notes: Vec<PathBuf> = std::fs::read_dir(corpus.join(boat))
            .expect("the corpus stands in fixtures")
            .map(|entry| entry.expect("the folder can be listed").path())
            .filter(|path| path.extension().is_some_and(|ext| ext != "json"))
            .collect();
        notes.sort();
        let hints = |path: &Path, boat_offset| Hints {
            name: path.file_name().expect("a note has a name").to_string_lossy().into_owned(),
            boat_offset,
            ..Hints::default()
        };
        let bytes = |path: &Path| std::fs::read(path).expect("a note can be read");
        // The boat's offset is the one that her notes say first.
        let mut boat_offset = notes.iter().find_map(|path| {
            let note = read(&bytes(path), &hints(path, None));
            note.recorded.filter(|_| note.zone_said).map(|r| *r.at.offset())
        });
        for path in notes {
            let note = read(&bytes(&path), &hints(&path, boat_offset));
            let gold = std::fs::read(path.with_extension("gold.json")).expect("a note has its gold");
            let gold: Value = serde_json::from_slice(&gold).expect("gold is JSON");
            let shown = path.display();
            match gold["recorded"].as_str() {
                None => assert!(
                    note.recorded.is_none_or(|r| r.basis != Basis::Stated),
                    "{shown}: {}",
                    note.recorded_from
                ),
                Some(want) => {
                    compared += 1;
                    let got = note.recorded.unwrap_or_else(|| panic!("{shown}: no beginning")).at;
                    match DateTime::parse_from_rfc3339(want) {
                        Ok(want) => assert_eq!(
                            got.to_rfc3339(),
                            want.to_rfc3339(),
                            "{shown}: {} {}",
                            note.recorded_from,
                            note.zone
                        ),
                        // Without an offset in the gold, the local time counts.
                        Err(_) => assert_eq!(
                            Ok(got.naive_local()),
                            want.parse::<NaiveDateTime>(),
                            "{shown}: {}",
                            note.recorded_from
                        ),
                    }
                }
            }
            assert!(note.utterances.iter().all(|u| u.at.is_some()), "{shown}: every utterance has a time");
            if note.zone_said
                && let Some(recorded) = note.recorded
            {
                boat_offset = Some(*recorded.at.offset());
            }
        }
    }
    assert!(compared >= 30, "{compared} beginnings compared");
}

#[test]
fn four_figures_behind_a_date_are_a_time_where_they_are_no_year_of_a_note() {
    for (line, recorded) in [
        ("Mon 11 May, 2105. Nothing much.", "2026-05-11 21:05 +10:00"),
        ("Sun 31 May, 1900, rain", "2026-05-31 19:00 +10:00"),
        ("Thurs 26 Feb, 2000. Going Sunday.", "2026-02-26 20:00 +10:00"),
    ] {
        let name = format!("{}.txt", &recorded[..10]);
        check(&name, &format!("{line}\n\nHeater lit.\n"), recorded, Basis::Inferred, "");
    }
    for line in ["26 Feb, 2026, 20:00", "February 26, 2026, 2000", "26 February 2026, 2000"] {
        check("note.txt", &format!("{line}\n\nHeater lit.\n"), "2026-02-26 20:00 +10:00", Basis::Stated, "");
    }
    check("note.txt", "May 3, 2009\n\nHeater lit.\n", "2009-05-03 12:00 +10:00", Basis::Inferred, "");
}

#[test]
fn a_note_begins_on_the_first_of_its_days() {
    for line in [
        "Overnight transect, 18–19 June 2027. Clock: UTC.",
        "Log, 18/19 June 2027.",
        "18 and 19 June 2027",
        "Fri 18 to Sat 19 June 2027",
    ] {
        let note = read(format!("{line}\n\nHeater lit.\n").as_bytes(), &Hints::default());
        let day = note.recorded.map(|r| r.at.date_naive().to_string());
        assert_eq!(day.as_deref(), Some("2027-06-18"), "{line}");
    }
}

#[test]
fn times_of_day_as_sailors_say_them() {
    for (line, time) in [
        ("Tuesday 2 September 2025, 9 at night.", "21:00"),
        ("2 September 2025, eight at night", "20:00"),
        ("Wednesday 2 September 2026, half seven in the evening, on the mooring", "19:30"),
        ("2 September 2026, eleven-thirty in the morning", "11:30"),
        ("2 September 2026, sixteen hundred zulu", "16:00"),
        ("2 September 2026 kl 1930", "19:30"),
        ("Sunday 6 September 2026 kl. 1800", "18:00"),
        ("Shelburne, Sunday 6 September 2026, 17 h 30. Number three.", "17:30"),
        ("Saturday 5 September 2026, 20 h", "20:00"),
        ("Saturday 5 September 2026, ten to midnight", "23:50"),
        ("5 September 2026, ten after two in the afternoon", "14:10"),
        ("KNOT. DICTATED, PORT ELLEN\n\nSaturday 5 September 2026, 0830 UTC.", "08:30"),
        (
            "2 September 2026\n\n0840 UTC, inner basin. NE 4, 9 °C on deck, and a long line with more words.",
            "08:40",
        ),
    ] {
        let note = read(format!("{line}\n\nHeater lit.\n").as_bytes(), &Hints::default());
        let told = note.recorded.map(|r| r.at.format("%H:%M").to_string());
        assert_eq!(told.as_deref(), Some(time), "{line}: {}", note.recorded_from);
    }
}
