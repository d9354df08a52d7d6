//! The page in a real browser: what the skipper does with it, and how each screen looks to those who read it otherwise.

use std::time::Duration;

use serde_json::Value;

use crate::boat::{Boat, notes, repository, text};
use crate::browser::{self, Browser};
use crate::sailing;
use crate::served::Served;

/// Every screen, with what an address needs filled in by [`screens`].
const SCREENS: [&str; 23] = [
    "/",
    "/open",
    "/open?closed=yes",
    "/note",
    "/find",
    "/find?words=heater",
    "/trend",
    "/trend/voltage",
    "/trend/boat_speed",
    "/doubts",
    "/gear",
    "/proved",
    "/outings",
    "/sailed",
    "/polar",
    "/log/boat_speed",
    "/gear/heater",
    "/gear/storm%20jib",
    "/sources",
    "/passage",
    "/budget",
    "/more",
    "/nowhere",
];

/// A boat with its notes, an instrument log and a passage, served.
fn quillback() -> (Boat, Served) {
    let boat = Boat::new();
    let notes = notes("quillback");
    let log = text(&boat.write("boat.log", sailing::log()));
    let mut arguments = vec!["ingest", &log];
    arguments.extend(notes.iter().map(String::as_str));
    boat.run(&arguments).ends(0);
    let passage =
        ["passage", "--departure", "2026-10-10", "--back", "2026-11-20", "--days", "12", "--crew", "2"];
    boat.run(&[&passage[..], &["--strongest-wind", "45", "--coldest-air", "-4"]].concat()).ends(0);
    let served = Served::here(&boat, &["--on", "2026-10-06"]);
    (boat, served)
}

/// All screens of a boat, those of one item and one place among them.
async fn screens(browser: &Browser, served: &Served) -> Vec<String> {
    browser.go(&served.address).await;
    let mut screens: Vec<String> = SCREENS.map(str::to_owned).to_vec();
    for selector in [".items h3 a", "blockquote .words"] {
        let path = browser
            .run(&format!(
                "const a = document.querySelector('{selector}'); return a.pathname + a.search + a.hash"
            ))
            .await;
        screens.push(path.as_str().expect("an address").to_owned());
    }
    let source = screens.last().expect("a place").clone();
    let hash = source.split(['/', '?']).nth(2).expect("a hash").to_owned();
    screens.push(format!("/taken?sources={hash}"));
    // Those that only another screen leads to: a reading and a trial put right, a polar's minutes, a log in place.
    for (from, selector) in [
        ("/doubts", "a.right"),
        ("/gear/storm%20jib", "a[href^='/trial/']"),
        ("/sailed", "a[href^='/polar/minutes']"),
        ("/sailed", "a[href^='/log/']"),
        ("/log/boat_speed", "tbody a"),
        ("/sources", "a[href^='/source/']"),
    ] {
        browser.go(&format!("{}{from}", served.address)).await;
        let path = browser
            .run(&format!(
                "const a = document.querySelector(\"{selector}\"); return a && a.pathname + a.search"
            ))
            .await;
        screens.push(path.as_str().unwrap_or_else(|| panic!("{from} leads to no {selector}")).to_owned());
    }
    // From an hour to a minute to the lines of the log.
    for _ in 0..2 {
        let last = screens.iter().rfind(|screen| screen.starts_with("/log/")).expect("a log").clone();
        browser.go(&format!("{}{last}", served.address)).await;
        let path = browser
            .run("const a = document.querySelector('tbody a'); return a && a.pathname + a.search")
            .await;
        screens.extend(path.as_str().map(str::to_owned));
    }
    screens
}

#[tokio::test(flavor = "multi_thread")]
async fn a_note_is_dumped_and_understood_and_an_item_closed() {
    if !browser::is_there() {
        return;
    }
    let boat = Boat::new();
    let served = Served::here(&boat, &[]);
    let browser = Browser::start(360).await;
    browser.go(&served.address).await;
    browser.click("a.first").await;
    let words = "Tried the heater and it went out again. Cabin got to 19 degrees with 6 outside.";
    browser.type_in("#words", words).await;
    browser.click("#words-form button").await;
    browser.until("location.pathname === '/taken'").await;
    assert_eq!(browser.text(".mark.reading").await, "Cabin got to 19 degrees");
    let place = browser.run("return document.querySelector('.rows .words').getAttribute('href')").await;
    browser.go(&format!("{}{}", served.address, place.as_str().expect("an address"))).await;
    assert_eq!(browser.text("#here").await, "Cabin got to 19 degrees");

    // A wrong number is put right by a tap.
    browser.click(".right").await;
    browser.until("document.getElementById('value')").await;
    browser.run("document.getElementById('value').value = ''").await;
    browser.type_in("#value", "17 degC").await;
    browser.click("#right button").await;
    browser.until("location.pathname.startsWith('/source/') && document.getElementById('here')").await;
    let trend = boat.run(&["trend", "cabin_temperature", "--json"]).json();
    assert_eq!(trend["readings"][0]["low"], 17.0, "{trend}");

    let open = boat.run(&["open", "--json"]).json();
    let name = open["open"][0]["name"].as_str().expect("one is open").to_owned();
    browser.go(&served.address).await;
    browser.click(&format!("[id='{name}'] summary")).await;
    browser.type_in(&format!("[id='{name}'] input[name=because]"), "new glow pin, runs").await;
    browser.click(&format!("[id='{name}'] .word button")).await;
    browser.until(&format!("!document.getElementById('{name}') && document.querySelector('h1')")).await;
    let open = boat.run(&["open", "--json"]).json();
    assert!(open["open"].as_array().expect("a list").iter().all(|item| item["name"] != *name), "{open}");
    assert_eq!(open["closed"][0]["because"], "new glow pin, runs");
    assert_eq!(browser.complaints().await, [""; 0]);
}

#[tokio::test(flavor = "multi_thread")]
async fn every_screen_fits_its_width_without_a_complaint() {
    if !browser::is_there() {
        return;
    }
    let (_boat, served) = quillback();
    for width in [360, 1280] {
        let browser = Browser::start(width).await;
        for screen in screens(&browser, &served).await {
            browser.go(&format!("{}{screen}", served.address)).await;
            let wide = browser.run("return [document.documentElement.scrollWidth, innerWidth]").await;
            assert_eq!(wide[1], width, "{screen}");
            assert!(wide[0].as_u64() <= wide[1].as_u64(), "{screen} at {width}: {wide}");
            // Gloves: what is to be hit is at least 44 pixels high, but for words within a line of text.
            let small = browser
                .run(
                    "return [...document.querySelectorAll('button, input:not([type=hidden]):not([type=radio]), textarea, select, \
                     summary, .bar a, .button, .ways a, .choice span')].filter((e) => e.offsetParent !== null && \
                     e.getBoundingClientRect().height < 44).map((e) => e.outerHTML)",
                )
                .await;
            assert_eq!(small, Value::Array(Vec::new()), "{screen} at {width}");
            let complaints = browser.complaints().await;
            let expected = if screen == "/nowhere" { 1 } else { 0 };
            assert!(complaints.len() <= expected, "{screen} at {width}: {complaints:?}");
        }
    }
}

/// axe-core is an open rule engine for accessibility (Deque Systems); `tests/run` fetches it from the npm registry.
#[tokio::test(flavor = "multi_thread")]
async fn no_screen_has_a_serious_fault_for_those_who_hear_or_tab_through_it() {
    let Some(path) = std::env::var_os("LEADSMAN_AXE") else {
        println!("skipped: LEADSMAN_AXE names no axe.min.js; tests/run fetches it");
        return;
    };
    if !browser::is_there() {
        return;
    }
    let axe = std::fs::read_to_string(&path).unwrap_or_else(|error| panic!("{}: {error}", path.display()));
    let (_boat, served) = quillback();
    let browser = Browser::start(360).await;
    let screens = screens(&browser, &served).await;
    for light in ["day", "night", "red"] {
        browser.go(&format!("{}/more", served.address)).await;
        browser.click(&format!("button[value={light}]")).await;
        browser.until(&format!("document.documentElement.dataset.light === '{light}'")).await;
        for screen in &screens {
            browser.go(&format!("{}{screen}", served.address)).await;
            browser.run(&axe).await;
            let script = "const done = arguments[arguments.length - 1]; \
                          axe.run(document, { resultTypes: ['violations'] }).then((found) => done(found.violations\
                          .filter((v) => v.impact === 'serious' || v.impact === 'critical')\
                          .map((v) => v.id + ': ' + v.nodes.slice(0, 4).map((n) => n.html + ' ' + n.failureSummary).join(' | '))))";
            let faults = browser.client.execute_async(script, Vec::new()).await.expect("axe runs");
            assert_eq!(faults, Value::Array(Vec::new()), "{screen}, {light}");
        }
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn the_first_screen_is_light() {
    if !browser::is_there() {
        return;
    }
    let (_boat, served) = quillback();
    let browser = Browser::start(360).await;
    // The home's answers are made at the first look; what is timed is the browser with an empty cache.
    browser.go(&served.address).await;
    let mut times = Vec::new();
    let mut weight = 0.0;
    for _ in 0..5 {
        browser.devtools("Network.clearBrowserCache", serde_json::json!({})).await;
        browser.go("about:blank").await;
        browser.go(&served.address).await;
        let found = browser
            .run(
                "const all = performance.getEntriesByType('navigation').concat(performance.getEntriesByType('resource')); \
                 return [all[0].loadEventStart, all.reduce((sum, one) => sum + one.encodedBodySize, 0), all.length]",
            )
            .await;
        times.push(found[0].as_f64().expect("a time"));
        weight = found[1].as_f64().expect("bytes");
        assert!(found[2].as_u64() >= Some(3), "page, style and script: {found}");
    }
    times.sort_by(f64::total_cmp);
    // A time is told and not held to here, where tests run beside each other; benches/first_screen.sh holds to 300 ms.
    println!("first screen: {:.0} ms in the middle of five, {weight} bytes", times[2]);
    assert!(weight < 150_000.0, "{weight} bytes");
}

#[tokio::test(flavor = "multi_thread")]
async fn the_list_prints_on_paper() {
    if !browser::is_there() {
        return;
    }
    let (_boat, served) = quillback();
    let browser = Browser::start(1280).await;
    browser.go(&served.address).await;
    let pages = browser.printed_pages(21.0, 29.7).await;
    assert!((1..=8).contains(&pages), "{pages}");
}

#[tokio::test(flavor = "multi_thread")]
async fn what_is_typed_outlives_the_tab() {
    if !browser::is_there() {
        return;
    }
    let boat = Boat::new();
    let served = Served::here(&boat, &[]);
    let browser = Browser::start(360).await;
    let note = format!("{}/note", served.address);
    browser.go(&note).await;
    browser.type_in("#words", "Half a note about the stove").await;
    let draft = "const done = arguments[arguments.length - 1]; const asked = indexedDB.open('leadsman', 1); \
                 asked.onsuccess = () => { const found = asked.result.transaction('draft').objectStore('draft').get('words'); \
                 found.onsuccess = () => { asked.result.close(); done(found.result || ''); }; };";
    let begun = std::time::Instant::now();
    while browser.client.execute_async(draft, Vec::new()).await.expect("a draft")
        != "Half a note about the stove"
    {
        assert!(begun.elapsed() < Duration::from_secs(30), "the draft is not kept");
        tokio::time::sleep(Duration::from_millis(50)).await;
    }
    browser.go("about:blank").await;
    browser.go(&note).await;
    browser.until("document.getElementById('words').value === 'Half a note about the stove'").await;
}

#[tokio::test(flavor = "multi_thread")]
async fn words_that_were_heard_are_played_in_place() {
    if !browser::is_there() {
        return;
    }
    let boat = Boat::new();
    let hash = heard(&boat).await;
    let served = Served::here(&boat, &[]);
    let browser = Browser::start(360).await;
    browser.go(&format!("{}/source/{hash}", served.address)).await;
    browser.click("a.play").await;
    browser.until("document.querySelector('audio') && document.querySelector('audio').duration > 1").await;
    let length = browser.run("return document.querySelector('audio').duration").await;
    assert_eq!(length, 1.5, "from half a second before the words to half a second behind");
    assert_eq!(browser.complaints().await, [""; 0]);
}

/// A recording of two seconds in a boat's home, and words heard from its first half second to its second.
async fn heard(boat: &Boat) -> String {
    use leadsman_index::{Dump, Home, SourceId};
    use leadsman_ingest::heard::{Said, Transcript};
    let recording = leadsman_ingest::sound::wav::write(&vec![0.0; 32_000]);
    let source = SourceId::of(&recording);
    let words = "The heater went out at 19 degrees.".to_owned();
    let transcript = Transcript {
        recording: source.to_string(),
        name: "memo.wav".to_owned(),
        seconds: 2.0,
        corrected: true,
        said: vec![Said { from: 0.5, until: 1.0, text: words, ..Said::default() }],
        ..Transcript::default()
    };
    let words = transcript.write();
    let home = Home::open(boat.home()).expect("a home");
    let mut writer = home.writer(Duration::ZERO).await.expect("free");
    let dump = Dump { of: Some(source), ..Dump::bytes("memo.wav (heard)", words.clone().into()) };
    writer.ingest([Dump::bytes("memo.wav", recording), dump], |_| {}).await.expect("taken");
    writer.finish().await.expect("done");
    SourceId::of(words.as_bytes()).to_string()
}

/// No source may name another host: the page comes from this machine alone.
#[test]
fn nothing_in_the_assets_is_from_elsewhere() {
    for name in ["page.css", "page.js"] {
        let path = repository().join("query/src/web/assets").join(name);
        let text = std::fs::read_to_string(path).expect("an asset");
        assert!(!text.contains("http://") && !text.contains("https://") && !text.contains("//www"), "{name}");
        assert!(!text.contains("eval(") && !text.contains("innerHTML"), "{name}");
    }
}
