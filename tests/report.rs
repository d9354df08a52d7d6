//! The report, the tables and the calendar, as files that others read.

use std::process::Command;

use crate::boat::{Boat, notes, text};
use crate::browser::{self, Browser};

fn quillback() -> Boat {
    let boat = Boat::new();
    let notes = notes("quillback");
    let mut arguments = vec!["ingest"];
    arguments.extend(notes.iter().map(String::as_str));
    boat.run(&arguments).ends(0);
    let passage =
        ["passage", "--departure", "2026-10-10", "--back", "2026-11-20", "--days", "12", "--crew", "2"];
    boat.run(&passage).ends(0);
    boat
}

#[test]
fn each_reader_gets_a_sheet_of_their_own() {
    let boat = quillback();
    let sheet = |reader: &str| boat.run(&["report", "--for", reader, "--on", "2026-10-06"]).ends(0).out;
    let skipper = sheet("skipper");
    for words in [
        "4 days left",
        "Failed when tried",
        "Never proved",
        "class=\"tick\"",
        "Proved",
        "Proved, and needed",
        "no trial that counts has passed",
        "What the passage takes",
    ] {
        assert!(skipper.contains(words), "{words}");
    }
    // What is accepted stands apart, with its reason, for the crew too.
    let open = boat.run(&["open", "--json"]).json();
    let name = open["open"][0]["name"].as_str().expect("one is open").to_owned();
    boat.run(&["accept", &name, "--because", "two of us & a <long> boathook"]).ends(0);
    for reader in ["skipper", "crew"] {
        let sheet = boat.run(&["report", "--for", reader]).ends(0).out;
        assert!(sheet.contains("Accepted: sailing with it as it is (1)"), "{reader}");
        assert!(sheet.contains("two of us &amp; a &lt;long&gt; boathook"), "{reader}");
    }
    boat.run(&["undo"]).ends(0);
    let crew = sheet("crew");
    for words in ["Where things are", "under the cockpit", "Not proved", "Drilled, and how it went"] {
        assert!(crew.contains(words), "{words}");
    }
    // What is written for the contact ashore is in; what was said aboard is not.
    boat.run(&["ashore", "--boat", "Quillback, white sloop", "--call-whom", "the duty officer at Bluff"])
        .ends(0);
    boat.run(&["ashore", "--check-in", "every evening at 19:00"]).ends(0);
    let ashore = sheet("ashore");
    for words in [
        "Quillback, white sloop",
        "the duty officer at Bluff",
        "every evening at 19:00",
        "Fri 20 Nov 2026",
        "not filled in",
    ] {
        assert!(ashore.contains(words), "{words}");
    }
    assert!(!ashore.contains('“') && !ashore.contains("heater"), "no note is quoted: {ashore}");
    for sheet in [skipper, crew, ashore] {
        for elsewhere in ["<script", "<link", "<img", "@import", "url(", "src="] {
            assert!(!sheet.contains(elsewhere), "{elsewhere}: a sheet needs nothing else");
        }
        assert!(!sheet.replace("http://www.w3.org/2000/svg", "").contains("http"));
    }
    assert_eq!(boat.run(&["ashore", "--json"]).json()["boat"], "Quillback, white sloop");
    boat.run(&["ashore", "--boat", ""]).ends(0);
    assert!(
        !boat.run(&["report", "--for", "ashore"]).out.contains("white sloop"),
        "an empty text takes a line back"
    );
    Boat::new().run(&["report"]).ends(0);
}

#[test]
fn a_sheet_is_written_whole_or_not_at_all() {
    let boat = quillback();
    let path = boat.path("sheet.html");
    boat.run(&["report", "--out", &text(&path)]).ends(0);
    assert!(std::fs::read_to_string(&path).expect("a file").ends_with("</html>"));
    let refused = boat.run(&["report", "--out", &text(&boat.path("no/such/folder.html"))]).ends(2);
    assert!(refused.err.contains("cannot write") && refused.err.contains("hint:"), "{}", refused.err);
}

#[test]
fn open_html_follows_every_change() {
    let boat = Boat::new();
    let note = boat.write("2026-10-01.txt", "Tried the heater and it went out again.\n");
    boat.run(&["ingest", &text(&note)]).ends(0);
    let fresh = || std::fs::read_to_string(boat.home().join("open.html")).expect("kept in the home");
    assert!(fresh().contains("heater") && fresh().contains("class=\"tick\""));
    let open = boat.run(&["open", "--json"]).json();
    let name = open["open"][0]["name"].as_str().expect("an item").to_owned();
    boat.run(&["close", &name, "--because", "new pin"]).ends(0);
    assert!(!fresh().contains("class=\"tick\""));
    boat.run(&["reopen", &name]).ends(0);
    assert!(fresh().contains("class=\"tick\""));
}

#[tokio::test(flavor = "multi_thread")]
async fn the_sheets_print_on_a4_and_letter() {
    if !browser::is_there() {
        return;
    }
    let boat = quillback();
    let browser = Browser::start(1280).await;
    for (reader, most) in [("skipper", 14), ("crew", 6), ("ashore", 2)] {
        let path = boat.path("sheet.html");
        boat.run(&["report", "--for", reader, "--on", "2026-10-06", "--out", &text(&path)]).ends(0);
        browser.go(&format!("file://{}", path.display())).await;
        for (width, height) in [(21.0, 29.7), (21.59, 27.94)] {
            let pages = browser.printed_pages(width, height).await;
            assert!((1..=most).contains(&pages), "{reader} on {width} by {height}: {pages} pages");
        }
        let wide = browser.run("return document.documentElement.scrollWidth <= innerWidth").await;
        assert_eq!(wide, true, "{reader}");
        assert_eq!(browser.complaints().await, [""; 0], "{reader}");
    }
}

#[test]
fn tables_have_a_row_for_each_finding() {
    let boat = quillback();
    let table = |what: &str| {
        let out = boat.run(&["export", what]).ends(0).out;
        let mut table = csv::Reader::from_reader(out.as_bytes());
        let names = table.headers().expect("names").clone();
        let rows: Vec<csv::StringRecord> =
            table.into_records().map(|row| row.expect("as wide as the others")).collect();
        (names, rows)
    };
    let (names, rows) = table("readings");
    assert_eq!(names.iter().collect::<Vec<_>>()[..6], ["at", "at_basis", "quantity", "low", "high", "unit"]);
    let lines = boat.run(&["export", "readings", "--format", "jsonl"]).ends(0).out;
    assert_eq!(rows.len(), lines.lines().count());
    for (row, line) in rows.iter().zip(lines.lines()) {
        let line: serde_json::Value = serde_json::from_str(line).expect("JSON");
        assert_eq!(row.get(2), line["quantity"].as_str());
        assert_eq!(row.get(3).and_then(|low| low.parse::<f64>().ok()), line["low"].as_f64());
    }
    let open = boat.run(&["open", "--all", "--json"]).json();
    let all = ["open", "perhaps", "closed"].map(|list| open[list].as_array().expect("a list").len());
    assert_eq!(table("items").1.len(), all.iter().sum::<usize>());
    assert!(table("trials").1.iter().any(|row| row.get(1) == Some("heater") && row.get(2) == Some("fail")));
    assert!(table("gear").1.iter().any(|row| row.get(0) == Some("heater")));
    // The help names every column.
    for what in ["readings", "trials", "items", "gear"] {
        let help = boat.run(&["export", what, "--help"]).ends(0).out;
        for name in &table(what).0 {
            assert!(help.contains(name), "{what}: {name}\n{help}");
        }
    }
    let none = Boat::new().run(&["export", "gear"]).ends(0).out;
    assert_eq!(none.lines().count(), 1, "column names alone: {none}");
}

#[test]
fn the_calendar_has_what_is_due_before_departure() {
    let boat = quillback();
    let text = boat.run(&["export", "calendar", "--on", "2026-10-06"]).ends(0).out;
    let calendar: icalendar::Calendar = text.parse().expect("it parses");
    assert!(calendar.todos().count() > 0, "{text}");
    use icalendar::Component;
    let plan = boat.run(&["--on", "2026-10-06", "outings", "--json"]).ends(0).json();
    let days =
        plan["days"].as_array().expect("a list").iter().filter(|day| day["steps"] != serde_json::json!([]));
    let mut days: Vec<(String, String)> = days
        .map(|day| {
            (format!("day-out-{}@leadsman", day["number"]), day["date"].as_str().expect("a day").to_owned())
        })
        .collect();
    assert!(!days.is_empty(), "{plan}");
    days.extend(
        [("departure@leadsman", "2026-10-10"), ("back@leadsman", "2026-11-20")]
            .map(|(uid, day)| (uid.to_owned(), day.to_owned())),
    );
    let events = calendar.events().map(|event| match event.get_start() {
        Some(icalendar::DatePerhapsTime::Date(day)) => {
            (event.get_uid().expect("one").to_owned(), day.to_string())
        }
        other => panic!("a day, not {other:?}"),
    });
    assert_eq!(events.collect::<Vec<_>>(), days);
    assert_eq!(calendar.to_string().replace("\r\n", "\n"), text.replace("\r\n", "\n"), "it comes back equal");
}

/// The Python package icalendar (Plone and others, BSD) reads the same file; `tests/run` fetches it.
#[test]
fn another_reader_of_calendars_finds_the_same() {
    let Some(package) = std::env::var_os("LEADSMAN_ICALENDAR") else {
        println!("skipped: LEADSMAN_ICALENDAR names no folder with the Python package; tests/run fetches it");
        return;
    };
    let boat = quillback();
    let path = boat.path("dates.ics");
    boat.run(&["export", "calendar", "--on", "2026-10-06", "--out", &text(&path)]).ends(0);
    let script = "import sys, json, icalendar\n\
                  text = open(sys.argv[1], 'rb').read()\n\
                  calendar = icalendar.Calendar.from_ical(text)\n\
                  again = icalendar.Calendar.from_ical(calendar.to_ical())\n\
                  told = lambda c: sorted([str(t['uid']), str(t['summary']), str(t['description']), t['due'].dt.isoformat()] for t in c.walk('VTODO'))\n\
                  assert told(calendar) == told(again)\n\
                  assert not calendar.errors and not any(part.errors for part in calendar.walk())\n\
                  days = lambda c: sorted([str(e['uid']), str(e['summary']), e['dtstart'].dt.isoformat()] for e in c.walk('VEVENT'))\n\
                  assert days(calendar) == days(again)\n\
                  print(json.dumps([told(calendar), days(calendar)]))\n";
    let ran = Command::new("python3")
        .args(["-c", script, &text(&path)])
        .env("PYTHONPATH", package)
        .output()
        .expect("python3 is there");
    assert!(ran.status.success(), "{}", String::from_utf8_lossy(&ran.stderr));
    let (found, days): (Vec<[String; 4]>, Vec<[String; 3]>) =
        serde_json::from_slice(&ran.stdout).expect("JSON");
    assert!(days.iter().any(|day| day[0] == "day-out-1@leadsman") && days.len() > 2, "{days:?}");
    let ours: icalendar::Calendar =
        std::fs::read_to_string(&path).expect("a file").parse().expect("it parses");
    use icalendar::Component;
    let mut expected: Vec<[String; 4]> = ours
        .todos()
        .map(|todo| {
            let due = match todo.get_due() {
                Some(icalendar::DatePerhapsTime::Date(day)) => day.to_string(),
                other => panic!("a day, not {other:?}"),
            };
            let [uid, summary, words] = [todo.get_uid(), todo.get_summary(), todo.get_description()];
            [uid, summary, words]
                .map(|text| text.expect("a text").to_owned())
                .into_iter()
                .chain([due])
                .collect::<Vec<_>>()
        })
        .map(|row| row.try_into().expect("four"))
        .collect();
    expected.sort();
    assert_eq!(found, expected);
}

#[test]
fn completions_and_manual_pages_come_from_the_command_line() {
    let boat = Boat::new();
    for shell in ["bash", "zsh", "fish"] {
        let script = boat.run(&["completions", shell]).ends(0).out;
        assert!(script.contains("leadsman") && script.contains("budget"), "{shell}");
    }
    let folder = boat.path("man");
    boat.run(&["manual", &text(&folder)]).ends(0);
    let page = std::fs::read_to_string(folder.join("leadsman-serve.1")).expect("a page a command");
    assert!(page.contains(".TH") && page.contains("at"), "{page}");
}
