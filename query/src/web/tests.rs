//! The page asked without a socket.

mod instruments;

use std::net::SocketAddr;
use std::path::Path;
use std::sync::{Arc, Mutex};

use axum::Router;
use axum::body::{Body, to_bytes};
use axum::http::{HeaderMap, Request, StatusCode, header};
use chrono::{DateTime, Utc};
use chrono_tz::Tz;
use leadsman_index::Home;
use tower::ServiceExt;

use super::guard::Ends;
use super::page::{Page, Setting};
use super::{LARGEST_FORM, router};
use crate::settings::Sourced;

const HOST: &str = "127.0.0.1:7373";
const NOTE: &str = "Tried the heater this morning and it went out again. Cabin got to 19 degrees with 6 outside.\n\
                    Buy a new impeller.\n";

fn now() -> DateTime<Utc> {
    "2026-10-06T00:00:00Z".parse().expect("a time")
}

/// A page with its log.
struct Aboard {
    folder: tempfile::TempDir,
    page: Arc<Page>,
    router: Router,
    log: Arc<Mutex<Vec<String>>>,
}

/// What was answered.
struct Answer {
    status: StatusCode,
    headers: HeaderMap,
    body: String,
}

impl Answer {
    #[track_caller]
    fn is(self, status: u16) -> Self {
        assert_eq!(self.status.as_u16(), status, "{}", self.body);
        self
    }

    fn to(&self) -> &str {
        self.headers.get(header::LOCATION).map_or("", |to| to.to_str().expect("text"))
    }

    fn cookie(&self) -> &str {
        let cookie = self.headers.get(header::SET_COOKIE).expect("a cookie").to_str().expect("text");
        cookie.split(';').next().expect("a pair")
    }
}

impl Aboard {
    fn new() -> Self {
        Self::with(|_| {})
    }

    fn with(change: impl FnOnce(&mut Setting)) -> Self {
        let folder = tempfile::tempdir().expect("a folder");
        let log = Arc::new(Mutex::new(Vec::new()));
        let heard = log.clone();
        let mut setting = Setting {
            home: folder.path().join("home"),
            zone: Sourced { value: Tz::Australia__Hobart, from: "--zone".to_owned() },
            on: None,
            names: Vec::new(),
            pairing: false,
            secure: false,
            patience: std::time::Duration::from_secs(5),
            largest_upload: 1 << 20,
            log: Box::new(move |line| heard.lock().expect("no panic").push(line.to_owned())),
            clock: now,
        };
        change(&mut setting);
        let page = Arc::new(Page::new(setting).expect("a home"));
        Self { folder, router: router(page.clone()), page, log }
    }

    fn home(&self) -> &Path {
        &self.page.setting.home
    }

    fn request(&self, method: &str, path: &str) -> axum::http::request::Builder {
        let local: SocketAddr = HOST.parse().expect("an address");
        let peer: SocketAddr = "127.0.0.1:50000".parse().expect("an address");
        Request::builder()
            .method(method)
            .uri(path)
            .extension(axum::Extension(Ends { peer, local }).0)
            .header(header::HOST, HOST)
    }

    async fn ask(&self, request: Request<Body>) -> Answer {
        let answer = self.router.clone().oneshot(request).await.expect("an answer to everything");
        let (parts, body) = answer.into_parts();
        let body = to_bytes(body, usize::MAX).await.expect("a body");
        Answer {
            status: parts.status,
            headers: parts.headers,
            body: String::from_utf8(body.to_vec()).expect("text"),
        }
    }

    async fn get(&self, path: &str) -> Answer {
        self.ask(self.request("GET", path).body(Body::empty()).expect("a request")).await
    }

    fn token(&self) -> String {
        self.page.paired.token("")
    }

    fn form(&self, path: &str) -> axum::http::request::Builder {
        let path = format!("{path}?token={}", self.token());
        self.request("POST", &path)
            .header(header::ORIGIN, format!("http://{HOST}"))
            .header(header::CONTENT_TYPE, "application/x-www-form-urlencoded")
    }

    async fn post(&self, path: &str, fields: &[(&str, &str)]) -> Answer {
        self.ask(self.form(path).body(Body::from(encoded(fields))).expect("a request")).await
    }

    async fn upload(&self, files: &[(&str, &[u8])]) -> Answer {
        let mut body = Vec::new();
        for (name, bytes) in files {
            let head = format!(
                "--parting\r\nContent-Disposition: form-data; name=\"files\"; filename=\"{name}\"\r\n\r\n"
            );
            body.extend_from_slice(head.as_bytes());
            body.extend_from_slice(bytes);
            body.extend_from_slice(b"\r\n");
        }
        body.extend_from_slice(b"--parting--\r\n");
        let path = format!("/files?token={}", self.token());
        let request = self
            .request("POST", &path)
            .header(header::ORIGIN, format!("http://{HOST}"))
            .header(header::CONTENT_TYPE, "multipart/form-data; boundary=parting");
        self.ask(request.body(Body::from(body)).expect("a request")).await
    }

    fn logged(&self, words: &str) -> usize {
        self.log.lock().expect("no panic").iter().filter(|line| line.contains(words)).count()
    }

    /// The names of all files in the folder that holds the home, however deep.
    fn files(&self) -> Vec<String> {
        fn walk(folder: &Path, names: &mut Vec<String>) {
            for entry in std::fs::read_dir(folder).into_iter().flatten().flatten() {
                names.push(entry.path().display().to_string());
                if entry.path().is_dir() {
                    walk(&entry.path(), names);
                }
            }
        }
        let mut names = Vec::new();
        walk(self.folder.path(), &mut names);
        names
    }
}

fn encoded(fields: &[(&str, &str)]) -> String {
    fields
        .iter()
        .map(|(name, value)| format!("{name}={}", super::trend::query(value)))
        .collect::<Vec<_>>()
        .join("&")
}

/// What stands between two marks, first found.
fn between<'a>(text: &'a str, from: &str, to: &str) -> &'a str {
    let start = text.find(from).unwrap_or_else(|| panic!("{from} in {text}")) + from.len();
    &text[start..start + text[start..].find(to).expect("an end")]
}

#[tokio::test(flavor = "multi_thread")]
async fn an_empty_home_is_shown_and_not_made() {
    let aboard = Aboard::new();
    let first = aboard.get("/").await.is(200);
    assert!(first.body.contains("Nothing is known yet"));
    for path in [
        "/note",
        "/find",
        "/find?words=heater",
        "/trend",
        "/trend/voltage",
        "/doubts",
        "/more",
        "/open",
        "/sources",
        "/passage",
        "/budget",
        "/gear",
        "/proved",
        "/outings",
        "/sailed",
        "/polar",
    ] {
        aboard.get(path).await.is(200);
    }
    assert!(!aboard.home().exists(), "a question makes no home: {:?}", aboard.files());
}

#[tokio::test(flavor = "multi_thread")]
async fn a_note_is_taken_and_shown_with_its_numbers_marked() {
    let aboard = Aboard::new();
    let taken =
        aboard.post("/note", &[("words", NOTE), ("written", "2026-10-05T18:30:00+11:00")]).await.is(303);
    let shown = aboard.get(taken.to()).await.is(200);
    assert!(shown.body.contains("note-2026-10-05-1830.txt"));
    assert!(shown.body.contains("title=\"cabin temperature 19 °C, observed"), "{}", shown.body);
    assert!(shown.body.contains("Stands open"));
    // Every number leads to its words in place.
    let place = between(&shown.body, "<a class=\"words\" href=\"", "\"").replace("&amp;", "&");
    let place = aboard.get(place.split('#').next().expect("an address")).await.is(200);
    assert_eq!(place.body.matches("id=\"here\"").count(), 1);
    let first = aboard.get("/").await.is(200);
    assert!(first.body.contains("Heater") && first.body.contains("failed when tried"), "{}", first.body);
    // The same note once more changes nothing.
    let again = aboard.post("/note", &[("words", NOTE)]).await.is(303);
    assert_eq!(again.to(), taken.to());
    let found = aboard.get("/find?words=heater").await.is(200);
    assert!(found.body.contains("<mark>heater</mark>"), "{}", found.body);
    let trend = aboard.get("/trend/cabin_temperature").await.is(200);
    assert!(trend.body.contains("<svg") && trend.body.contains("19\u{a0}°C"), "{}", trend.body);
    // Nothing of a note is written when its lines end as a form sends them.
    let crlf = aboard.post("/note", &[("words", &NOTE.replace('\n', "\r\n"))]).await.is(303);
    assert_eq!(crlf.to(), taken.to());
}

#[tokio::test(flavor = "multi_thread")]
async fn an_item_is_closed_and_opened_again() {
    let aboard = Aboard::new();
    aboard.post("/note", &[("words", NOTE)]).await.is(303);
    let first = aboard.get("/").await.is(200);
    let name = between(&first.body, "<li class=\"item\" id=\"", "\"").to_owned();
    aboard.post(&format!("/item/{name}/close"), &[("because", " ")]).await.is(400);
    aboard.post(&format!("/item/{name}/close"), &[("because", "new glow pin & <b>tried</b>")]).await.is(303);
    let after = aboard.get("/").await.is(200);
    assert!(!after.body.contains(&format!("id=\"{name}\"")));
    let item = aboard.get(&format!("/item/{name}")).await.is(200);
    assert!(item.body.contains("new glow pin &amp; &lt;b&gt;tried&lt;/b&gt;"), "{}", item.body);
    aboard.post(&format!("/item/{name}/close"), &[("because", "twice")]).await.is(400);
    aboard.post(&format!("/item/{name}/reopen"), &[]).await.is(303);
    assert!(aboard.get("/").await.body.contains(&format!("id=\"{name}\"")));
    aboard.post("/item/zzzz/close", &[("because", "x")]).await.is(400);
    aboard.get("/item/zzzz").await.is(404);
    // The command line sees the same.
    let store =
        Home::open(aboard.home()).expect("a home").store(std::time::Duration::ZERO).await.expect("current");
    assert_eq!(store.record().decisions().count(), 2);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_reading_is_put_right_confirmed_and_dismissed() {
    let aboard = Aboard::new();
    let taken = aboard.post("/note", &[("words", NOTE)]).await.is(303).to().to_owned();
    let shown = aboard.get(&taken).await.is(200);
    let address = between(&shown.body, "<a class=\"right\" href=\"", "\"").to_owned();
    let form = aboard.get(&address).await.is(200);
    assert!(form.body.contains("value=\"19 degC\""), "{}", form.body);
    let fields = |value| {
        vec![("value", value), ("quantity", "cabin_temperature"), ("stance", "observed"), ("gear", "heater")]
    };
    let right = aboard.post(&format!("{address}/correct"), &fields("17 degC")).await;
    let right = right.is(303);
    let place = aboard.get(right.to().split('#').next().expect("an address")).await.is(200);
    assert!(place.body.contains("cabin temperature 17 °C"), "{}", place.body);
    assert!(aboard.get("/trend/cabin_temperature").await.body.contains("17\u{a0}°C"));
    // What is no value says so, and what says nothing new too.
    aboard.post(&format!("{address}/correct"), &fields("warmish")).await.is(400);
    aboard.post(&format!("{address}/correct"), &fields("17 degC")).await.is(400);
    aboard.post(&format!("{address}/confirm"), &[]).await.is(303);
    aboard.post(&format!("{address}/shout"), &[]).await.is(404);
    aboard.post(&format!("{address}/dismiss"), &[]).await.is(303);
    assert!(!aboard.get(&taken).await.body.contains("cabin temperature 17"));
}

#[tokio::test(flavor = "multi_thread")]
async fn what_stands_perhaps_is_confirmed() {
    let aboard = Aboard::new();
    // Words that leave it in doubt, each in its own way; whichever does is taken.
    for words in [
        "We should glue some foam behind the quarter berth for the condensation.",
        "One ought to look at the boats in the other basin some day.",
        "Still to do:\n- find out who takes parking space 7\n- ring mum about the curtains\n- learn to bake bread\n\
         - read the book about whales\n- oil the hinge\n- ask the woman on the blue boat about the cat\n",
    ] {
        aboard.post("/note", &[("words", words)]).await.is(303);
    }
    // With nothing else open the first screen says so, and not that no note speaks of a matter.
    let first = aboard.get("/").await.is(200);
    let surely = first.body.contains("<li class=\"item\"");
    assert!(surely || first.body.contains("What is in doubt waits for your word"), "{}", first.body);
    assert!(!first.body.contains("No note speaks of an open matter"), "{}", first.body);
    let all = aboard.get("/open").await.is(200);
    let perhaps = all.body.split("id=\"perhaps\"").nth(1).unwrap_or_else(|| panic!("none: {}", all.body));
    let name = between(perhaps, "<li class=\"item\" id=\"", "\"").to_owned();
    aboard.post(&format!("/item/{name}/confirm"), &[]).await.is(303);
    let shown = aboard.get(&format!("/item/{name}")).await.is(200);
    assert!(!shown.body.contains("It stands"), "{}", shown.body);
    let first = aboard.get("/").await.is(200);
    assert!(first.body.contains(&format!("id=\"{name}\"")), "{}", first.body);
}

#[tokio::test(flavor = "multi_thread")]
async fn an_item_is_accepted_put_off_given_and_remarked_on() {
    let aboard = Aboard::new();
    aboard.post("/note", &[("words", NOTE)]).await.is(303);
    let first = aboard.get("/").await.is(200);
    let name = between(&first.body, "<li class=\"item\" id=\"", "\"").to_owned();
    for (what, field, words, shown) in [
        ("note", "text", "smells of diesel", "smells of diesel"),
        ("give", "to", "the yard", "to the yard"),
        ("put-off", "until", "2026-10-08", "until"),
        ("accept", "because", "there is a stove", "there is a stove"),
    ] {
        aboard.post(&format!("/item/{name}/{what}"), &[(field, words)]).await.is(303);
        let item = aboard.get(&format!("/item/{name}")).await.is(200);
        assert!(item.body.contains(shown), "{what}: {}", item.body);
    }
    aboard.post(&format!("/item/{name}/put-off"), &[("until", "soon")]).await.is(400);
}

/// A second and a half of silence as a recording, and a transcript that was put right by hand.
async fn heard(aboard: &Aboard) -> String {
    use leadsman_index::{Dump, SourceId};
    use leadsman_ingest::heard::{Said, Transcript};
    let recording = leadsman_ingest::sound::wav::write(&vec![0.0; 24_000]);
    let source = SourceId::of(&recording);
    let said =
        Said { from: 0.25, until: 1.0, text: "The heater went out at 19 degrees.".into(), ..Said::default() };
    let transcript = Transcript {
        recording: source.to_string(),
        name: "memo.wav".into(),
        seconds: 1.5,
        corrected: true,
        said: vec![said],
        ..Transcript::default()
    };
    let words = transcript.write();
    let mut writer =
        Home::open(aboard.home()).expect("a home").writer(std::time::Duration::ZERO).await.expect("free");
    let mut dump = Dump::bytes("memo.wav (heard)", words.clone().into());
    dump.of = Some(source);
    writer.ingest([Dump::bytes("memo.wav", recording), dump], |_| {}).await.expect("taken");
    writer.finish().await.expect("done");
    SourceId::of(words.as_bytes()).to_string()
}

#[tokio::test(flavor = "multi_thread")]
async fn words_that_were_heard_can_be_played() {
    let aboard = Aboard::new();
    let hash = heard(&aboard).await;
    for path in ["/".to_owned(), format!("/source/{hash}"), "/find?words=heater".to_owned()] {
        let shown = aboard.get(&path).await.is(200);
        assert!(shown.body.contains(&format!("href=\"/sound/{hash}?from=")), "{path}: {}", shown.body);
    }
    let shown = aboard.get(&format!("/source/{hash}")).await;
    assert!(shown.body.contains("<a class=\"mark"), "a heard note shows its words: {}", shown.body);
    let address = between(&shown.body, "<a class=\"button play\" href=\"", "\"").replace("&amp;", "&");
    let sound = |path: String, range: Option<&'static str>| {
        let mut request = aboard.request("GET", &path);
        if let Some(range) = range {
            request = request.header(header::RANGE, range);
        }
        aboard.router.clone().oneshot(request.body(Body::empty()).expect("a request"))
    };
    let whole = sound(address.clone(), None).await.expect("an answer");
    assert_eq!(
        (whole.status(), whole.headers()[header::CONTENT_TYPE].as_bytes()),
        (StatusCode::OK, &b"audio/wav"[..])
    );
    let whole = to_bytes(whole.into_body(), usize::MAX).await.expect("a body");
    // The words are heard from half a second before them, so from the beginning, to half a second behind.
    assert_eq!(whole.len(), 44 + 16_000 * 2 * 3 / 2);
    assert!(whole.starts_with(b"RIFF"));
    let piece = sound(address.clone(), Some("bytes=4-7")).await.expect("an answer");
    assert_eq!(piece.status(), StatusCode::PARTIAL_CONTENT);
    let range = format!("bytes 4-7/{}", whole.len());
    assert_eq!(piece.headers()[header::CONTENT_RANGE].to_str().expect("text"), range);
    let piece = to_bytes(piece.into_body(), usize::MAX).await.expect("a body");
    assert_eq!(piece, whole.slice(4..8));
    assert_eq!(
        sound(address, Some("bytes=999999-")).await.expect("an answer").status(),
        StatusCode::RANGE_NOT_SATISFIABLE
    );
    // Only words that were heard have a sound, and only where there are any.
    aboard.get(&format!("/sound/{hash}?from=999990&to=999999")).await.is(404);
    aboard.get(&format!("/sound/{hash}?from=9&to=2")).await.is(404);
    aboard.get(&format!("/sound/{}?from=0&to=2", "ab".repeat(32))).await.is(404);
    aboard.get("/sound/..%2F..%2Fetc%2Fpasswd?from=0&to=2").await.is(404);
    aboard.get(&format!("/sound/{hash}")).await.is(400);
    let written = aboard.post("/note", &[("words", NOTE)]).await.is(303).to().to_owned();
    let written = written.rsplit('=').next().expect("a hash").to_owned();
    aboard.get(&format!("/sound/{written}?from=0&to=20")).await.is(404);
    // What is withdrawn is not heard any more.
    let mut writer =
        Home::open(aboard.home()).expect("a home").writer(std::time::Duration::ZERO).await.expect("free");
    let source = hash.parse().expect("a hash");
    writer.decide(leadsman_index::Decision::Withdraw { source, erase: false }).await.expect("kept");
    writer.finish().await.expect("done");
    aboard.get(&format!("/sound/{hash}?from=0&to=200")).await.is(404);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_limit_of_the_skippers_own_is_drawn_and_one_of_another_wire_is_not() {
    let aboard = Aboard::new();
    let words = "2026-10-01 08:00 Port lower shroud at 18 percent. Cap shrouds at 22 percent.\n";
    aboard.post("/note", &[("words", words)]).await.is(303);
    let mut writer =
        Home::open(aboard.home()).expect("a home").writer(std::time::Duration::ZERO).await.expect("free");
    for (gear, low, high) in [("cap shroud", 20.5, 24.5), ("forestay", 11.5, 12.5)] {
        let limit = leadsman_index::Decision::Limit {
            quantity: "rig_tension".into(),
            gear: Some(gear.into()),
            low: Some(low),
            high: Some(high),
            who: "the rigger".into(),
        };
        writer.decide(limit).await.expect("kept");
    }
    writer.finish().await.expect("done");
    let trend = aboard.get("/trend/rig_tension?gear=cap%20shroud").await.is(200).body;
    assert!(trend.contains("limit 24.5 %") && trend.contains("the rigger"), "{trend}");
    assert!(!trend.contains("limit 12.5 %"), "{trend}");
}

#[tokio::test(flavor = "multi_thread")]
async fn what_is_accepted_stands_apart_with_its_reason() {
    let aboard = Aboard::new();
    aboard.post("/note", &[("words", NOTE)]).await.is(303);
    let first = aboard.get("/").await.is(200);
    let name = between(&first.body, "<li class=\"item\" id=\"", "\"").to_owned();
    aboard.post(&format!("/item/{name}/accept"), &[("because", "there is a stove")]).await.is(303);
    let first = aboard.get("/").await.is(200).body;
    assert!(
        first.contains("1 accepted: sailing with it as it is") && first.contains("there is a stove"),
        "{first}"
    );
    assert!(!first.contains(&format!("<li class=\"item\" id=\"{name}\"")), "{first}");
    assert!(aboard.get("/open").await.is(200).body.contains("Accepted as they are"));
}

#[tokio::test(flavor = "multi_thread")]
async fn what_another_process_adds_is_seen() {
    let aboard = Aboard::new();
    aboard.get("/").await.is(200);
    let mut writer =
        Home::open(aboard.home()).expect("a home").writer(std::time::Duration::ZERO).await.expect("free");
    let dump = leadsman_index::Dump::bytes("2026-10-01.txt", NOTE.into());
    writer.ingest([dump], |_| {}).await.expect("taken");
    writer.finish().await.expect("done");
    assert!(aboard.get("/").await.is(200).body.contains("Heater"));
}

#[tokio::test(flavor = "multi_thread")]
async fn the_passage_is_set_by_the_form() {
    let aboard = Aboard::new();
    let set = [("departure", "2026-10-10"), ("back", ""), ("days", "9"), ("coldest_air", "−4")];
    aboard.post("/passage", &set).await.is(303);
    let first = aboard.get("/").await.is(200);
    assert!(first.body.contains("<span class=\"number\">4</span> days left"), "{}", first.body);
    aboard.post("/passage", &[("back", "2026-10-01")]).await.is(400);
    aboard.post("/passage", &[("days", "nan")]).await.is(400);
    aboard.post("/passage", &[("coldest_air", "-200")]).await.is(400);
    assert!(aboard.get("/passage").await.body.contains("value=\"-4\""));
}

#[tokio::test(flavor = "multi_thread")]
async fn uploads_are_taken_under_names_that_are_no_paths() {
    let aboard = Aboard::new();
    let files: [(&str, &[u8]); 2] = [
        ("../../../escaped.txt", NOTE.as_bytes()),
        ("day.vtt", b"WEBVTT\n\n00:01.000 --> 00:03.000\nWind 15 knots\n"),
    ];
    let taken = aboard.upload(&files).await.is(303);
    let shown = aboard.get(taken.to()).await.is(200);
    assert!(
        shown.body.contains(">escaped.txt</a>") && shown.body.contains("wind speed 15 kn"),
        "{}",
        shown.body
    );
    assert!(!aboard.files().iter().any(|path| path.ends_with("escaped.txt") || path.ends_with("day.vtt")));
    // Another file of the same name is a note of its own.
    aboard.upload(&[("day.vtt", b"Quite other words, wind 31 knots and the heater failed")]).await.is(303);
    assert_eq!(aboard.get("/sources").await.body.matches(">day.vtt</a>").count(), 2);
    assert!(!aboard.get("/sources").await.body.contains("replaced"));
    let incoming = aboard.home().join("derived/incoming");
    assert_eq!(std::fs::read_dir(incoming).expect("a folder").count(), 0, "nothing is left behind");
}

#[tokio::test(flavor = "multi_thread")]
async fn uploads_are_bounded_in_size_and_number() {
    let aboard = Aboard::new();
    let request = aboard
        .request("POST", &format!("/files?token={}", aboard.token()))
        .header(header::ORIGIN, format!("http://{HOST}"))
        .header(header::CONTENT_TYPE, "multipart/form-data; boundary=parting")
        .header(header::CONTENT_LENGTH, (2_u64 << 30).to_string());
    let refused = aboard.ask(request.body(Body::empty()).expect("a request")).await.is(413);
    assert!(refused.body.contains("leadsman ingest"));
    // One that does not say its length is cut off on the way.
    aboard.upload(&[("large.txt", &vec![b'x'; (1 << 20) + 1])]).await.is(413);
    let many: Vec<(String, Vec<u8>)> =
        (0..41).map(|n| (format!("{n}.txt"), format!("note {n}").into())).collect();
    let many: Vec<(&str, &[u8])> =
        many.iter().map(|(name, bytes)| (name.as_str(), bytes.as_slice())).collect();
    aboard.upload(&many).await.is(413);
    aboard.upload(&[]).await.is(400);
    assert_eq!(aboard.logged("refused an upload"), 2);
    assert!(aboard.get("/").await.body.contains("Nothing is known yet"), "none of it was taken");
    let long = "x".repeat(LARGEST_FORM + 1);
    aboard.post("/note", &[("words", &long)]).await.is(413);
    aboard.post("/note", &[("words", "  ")]).await.is(400);
    aboard.post("/note", &[("words", NOTE), ("written", "yesterday")]).await.is(400);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_note_of_tags_is_shown_as_words_everywhere() {
    let aboard = Aboard::new();
    let evil = "<script>alert('heater failed')</script> heater failed when tried \"><img src=x onerror=alert(1)> at 19 degrees\n";
    let taken = aboard.post("/note", &[("words", evil)]).await.is(303);
    aboard.upload(&[("<svg onload=alert(1)>.txt", b"heater at 21 degrees")]).await.is(303);
    for path in [
        taken.to(),
        "/",
        "/open",
        "/find?words=heater",
        "/trend",
        "/trend/cabin_temperature",
        "/doubts",
        "/sources",
        "/find?words=%22%3E%3Cscript%3E",
        "/trend/%3Cscript%3E",
    ] {
        let shown = aboard.get(path).await;
        let body = &shown.body;
        // The page's own script element is the only one, and has an address.
        assert_eq!(
            body.matches("<script").count(),
            body.matches("<script src=\"/a/").count(),
            "{path}: {body}"
        );
        assert!(!body.contains("<img") && !body.contains("<svg onload"), "{path}: {body}");
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn only_this_page_may_change_anything() {
    let aboard = Aboard::new();
    let body = || Body::from(encoded(&[("words", NOTE)]));
    let good = format!("/note?token={}", aboard.token());
    let post = |path: &str, origin: Option<&str>| {
        let mut request =
            aboard.request("POST", path).header(header::CONTENT_TYPE, "application/x-www-form-urlencoded");
        if let Some(origin) = origin {
            request = request.header(header::ORIGIN, origin);
        }
        request.body(body()).expect("a request")
    };
    let own = format!("http://{HOST}");
    for (path, origin) in [
        ("/note", Some(own.as_str())),
        ("/note?token=", Some(&own)),
        ("/note?token=0123", Some(&own)),
        (&good, None),
        (&good, Some("null")),
        (&good, Some("http://evil.example")),
        (&good, Some("http://127.0.0.1:8080")),
    ] {
        aboard.ask(post(path, origin)).await.is(403);
    }
    assert_eq!(aboard.logged("refused POST /note from 127.0.0.1"), 7);
    assert!(!aboard.home().exists());
    // What a name that someone points at this machine asks for is not answered either.
    for host in ["evil.example:7373", "127.0.0.1:80", "leadsman.example", ""] {
        let mut request = aboard.request("GET", "/");
        request.headers_mut().expect("headers").insert(header::HOST, host.parse().expect("a header"));
        aboard.ask(request.body(Body::empty()).expect("a request")).await.is(421);
    }
    aboard.ask(post(&good, Some(&own))).await.is(303);
}

#[tokio::test(flavor = "multi_thread")]
async fn changes_are_bounded_in_pace() {
    let aboard = Aboard::new();
    let mut refused = 0;
    for _ in 0..130 {
        refused += usize::from(
            aboard.post("/light", &[("light", "red")]).await.status == StatusCode::TOO_MANY_REQUESTS,
        );
    }
    assert!((5..=10).contains(&refused), "{refused}");
    aboard.get("/").await.is(200);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_device_is_paired_once_by_its_code() {
    let aboard = Aboard::with(|setting| setting.pairing = true);
    assert_eq!(aboard.get("/").await.is(303).to(), "/pair");
    assert_eq!(aboard.get("/source/abc").await.is(303).to(), "/pair");
    aboard.post("/note", &[("words", NOTE)]).await.is(401);
    let shown = aboard.get("/pair").await.is(200);
    assert!(shown.body.contains("data-token=\"\""), "no token for a device that is not paired");
    let code = aboard.page.code();
    let paired = aboard.post("/pair", &[("code", &code)]).await.is(303);
    let cookie = paired.cookie().to_owned();
    let set = paired.headers.get(header::SET_COOKIE).expect("a cookie").to_str().expect("text");
    assert!(set.contains("; HttpOnly; SameSite=Strict"), "{set}");
    let with = |request: axum::http::request::Builder| request.header(header::COOKIE, &cookie);
    let first = with(aboard.request("GET", "/")).body(Body::empty()).expect("a request");
    let first = aboard.ask(first).await.is(200);
    let token = between(&first.body, "data-token=\"", "\"").to_owned();
    assert_ne!(token, aboard.token());
    let send = |token: &str| {
        with(aboard.request("POST", &format!("/note?token={token}")))
            .header(header::ORIGIN, format!("http://{HOST}"))
            .header(header::CONTENT_TYPE, "application/x-www-form-urlencoded")
            .body(Body::from(encoded(&[("words", NOTE)])))
            .expect("a request")
    };
    aboard.ask(send(&aboard.token())).await.is(403);
    aboard.ask(send(&token)).await.is(303);
    // The code is used up.
    aboard.post("/pair", &[("code", &code)]).await.is(403);
    assert_ne!(aboard.page.code(), code);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_thousand_wrong_codes_are_refused_and_logged() {
    let aboard = Aboard::with(|setting| setting.pairing = true);
    let mut statuses = std::collections::BTreeMap::new();
    for n in 0..1_000 {
        let answer = aboard.post("/pair", &[("code", &format!("wrong{n:03}"))]).await;
        *statuses.entry(answer.status.as_u16()).or_insert(0) += 1;
    }
    assert!(!statuses.contains_key(&303), "{statuses:?}");
    assert!(statuses[&403] <= 6, "a few are looked at, the others are too many: {statuses:?}");
    assert_eq!(statuses.values().sum::<i32>(), 1_000);
    assert_eq!(aboard.logged("refused"), 1_000);
    aboard.get("/pair").await.is(200);
}

#[tokio::test(flavor = "multi_thread")]
async fn every_answer_forbids_what_is_inline_or_from_elsewhere() {
    let aboard = Aboard::new();
    aboard.post("/note", &[("words", NOTE)]).await.is(303);
    for path in
        ["/", "/nowhere", "/item/zzzz", "/source/..%2f..%2fetc", "/a/../page.css", "/a/page.css", "/sources/"]
    {
        let answer = aboard.get(path).await;
        let policy = answer.headers.get("content-security-policy").expect("a policy").to_str().expect("text");
        assert!(policy.contains("default-src 'none'") && !policy.contains("unsafe"), "{path}");
        assert_eq!(answer.headers.get("x-content-type-options").expect("a header"), "nosniff");
        assert!(!answer.body.contains("style=\"") && !answer.body.contains("onclick"), "{path}");
        assert!(
            !answer.body.contains("http://") && !answer.body.contains("https://"),
            "{path}: nothing from elsewhere"
        );
    }
    aboard.get("/nowhere").await.is(404);
    aboard.get("/note/x").await.is(404);
    let wrong = aboard.ask(aboard.request("DELETE", "/").body(Body::empty()).expect("a request")).await;
    assert!(wrong.status.is_client_error());
    let first = aboard.get("/").await;
    for asset in ["page.css", "page.js", "mark.svg"] {
        let address = super::assets::address(asset);
        assert!(first.body.contains(&address), "{asset}");
        let given = aboard.get(&address).await.is(200);
        assert!(
            given
                .headers
                .get(header::CACHE_CONTROL)
                .expect("a header")
                .to_str()
                .expect("text")
                .contains("immutable")
        );
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn the_light_is_kept_on_the_device() {
    let aboard = Aboard::new();
    let set = aboard.post("/light", &[("light", "red")]).await.is(303);
    let cookie = set.cookie().to_owned();
    let red =
        aboard.request("GET", "/").header(header::COOKIE, cookie).body(Body::empty()).expect("a request");
    assert!(aboard.ask(red).await.is(200).body.contains("data-light=\"red\""));
    aboard.post("/light", &[("light", "\"><b>")]).await.is(400);
    assert!(aboard.get("/").await.body.contains("data-light=\"auto\""));
}

#[tokio::test(flavor = "multi_thread")]
async fn the_script_is_told_in_json() {
    let aboard = Aboard::new();
    let ask = |words: &str| {
        aboard
            .form("/note")
            .header(header::ACCEPT, "application/json")
            .body(Body::from(encoded(&[("words", words)])))
            .expect("a request")
    };
    let told: serde_json::Value =
        serde_json::from_str(&aboard.ask(ask(NOTE)).await.is(200).body).expect("JSON");
    assert_eq!(told["taken"].as_array().map(Vec::len), Some(1));
    assert!(told["to"].as_str().is_some_and(|to| to.starts_with("/taken?sources=")));
    let told: serde_json::Value =
        serde_json::from_str(&aboard.ask(ask(" ")).await.is(400).body).expect("JSON");
    assert!(told["error"].as_str().is_some_and(|error| error.contains("expected the words")));
}
