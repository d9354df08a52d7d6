//! The network lost and found again, and devices that mean no good.

use std::io::{Read, Write};
use std::net::TcpStream;
use std::time::{Duration, Instant};

use crate::boat::Boat;
use crate::browser::{self, Browser};
use crate::network::Network;
use crate::served::Served;

/// How many of a boat's sources hold some words.
fn taken(boat: &Boat, words: &str) -> usize {
    let found = boat.run(&["find", &format!("\"{words}\""), "--json"]).json();
    let hits = found["hits"].as_array().expect("hits");
    let mut sources: Vec<&str> = hits.iter().filter_map(|hit| hit["hash"].as_str()).collect();
    sources.sort_unstable();
    sources.dedup();
    sources.len()
}

#[tokio::test(flavor = "multi_thread")]
async fn notes_written_without_network_are_sent_once_each_and_in_order() {
    if !browser::is_there() {
        return;
    }
    let Some(network) = Network::lay(1) else { return };
    let boat = Boat::new();
    let at = format!("{}:7373", network.there);
    let served = Served::by(network.in_it(&boat.command(&["serve", "--at", &at])));
    let browser = Browser::start(360).await;
    // The picture in the terminal leads here: the code stands behind the address.
    let code = served.code.clone().expect("another address needs a code");
    browser.go(&format!("{}/pair#{code}", served.address)).await;
    browser.until(&format!("document.getElementById('code').value === '{code}'")).await;
    browser.click("#pair button").await;
    browser.until("location.pathname === '/' && document.querySelector('.empty')").await;
    browser.go(&format!("{}/note", served.address)).await;
    browser.until("!document.getElementById('words').value").await;

    network.cable(false);
    for (n, words) in
        ["Heater drew 3.1 amps all night.", "Forehatch stayed dry in 25 knots."].iter().enumerate()
    {
        browser.type_in("#words", words).await;
        browser.click("#words-form button").await;
        let kept = format!("document.querySelectorAll('#kept-list li').length === {}", n + 1);
        browser.until(&format!("{kept} && !document.getElementById('words').value")).await;
    }
    assert!(browser.text("#unsent").await.contains("2 notes are kept in this device"));
    network.cable(true);
    browser.until("document.getElementById('unsent').hidden").await;
    assert_eq!((taken(&boat, "all night"), taken(&boat, "stayed dry")), (1, 1));
    let (code, log) = served.stop();
    assert_eq!(code, Some(0), "{log}");
    let arrivals: Vec<String> = std::fs::read_dir(boat.home().join("arrivals"))
        .expect("arrivals")
        .flat_map(|file| {
            let text = std::fs::read_to_string(file.expect("a file").path()).expect("text");
            text.lines().map(str::to_owned).collect::<Vec<_>>()
        })
        .collect();
    assert_eq!(arrivals.len(), 2, "once each: {arrivals:?}");
    let first = boat.run(&["find", "heater", "--json"]).json()["hits"][0]["hash"]
        .as_str()
        .expect("a hash")
        .to_owned();
    assert!(arrivals[0].contains(&first), "in the order in which they were written");
}

fn ask(served: &Served, request: &str) -> String {
    let mut stream = TcpStream::connect(served.host()).expect("it listens");
    stream.set_read_timeout(Some(Duration::from_secs(20))).expect("a timeout");
    stream.write_all(request.as_bytes()).expect("it reads");
    let mut answer = Vec::new();
    stream.read_to_end(&mut answer).ok();
    String::from_utf8_lossy(&answer).into_owned()
}

fn get(served: &Served, path: &str) -> String {
    ask(served, &format!("GET {path} HTTP/1.1\r\nHost: {}\r\nConnection: close\r\n\r\n", served.host()))
}

fn token(served: &Served) -> String {
    get(served, "/")
        .split("data-token=\"")
        .nth(1)
        .expect("a token")
        .chars()
        .take_while(|c| *c != '"')
        .collect()
}

#[test]
fn bad_clients_are_refused_and_the_service_stays_up() {
    let boat = Boat::new();
    let served = Served::here(&boat, &[]);
    let host = served.host().to_owned();
    let post = |path: &str, host: &str, length: usize, body: &str| {
        ask(
            &served,
            &format!(
                "POST {path} HTTP/1.1\r\nHost: {host}\r\nOrigin: http://{host}\r\nConnection: close\r\n\
                 Content-Type: application/x-www-form-urlencoded\r\nContent-Length: {length}\r\n\r\n{body}"
            ),
        )
    };
    let good = format!("/note?token={}", token(&served));
    assert!(post(&good, "evil.example", 10, "words=abcd").starts_with("HTTP/1.1 421"));
    assert!(post("/note", &host, 10, "words=abcd").starts_with("HTTP/1.1 403"));
    // 2 GB that are announced, and not one byte of them read.
    let announced = post(&format!("/files?token={}", token(&served)), &host, 2 << 30, "");
    assert!(announced.starts_with("HTTP/1.1 413"), "{announced}");
    assert!(ask(&served, "nonsense\r\n\r\n").starts_with("HTTP/1.1 400"));
    assert!(
        ask(&served, &format!("GET / HTTP/1.1\r\nHost: {host}\r\nX: {}\r\n\r\n", "x".repeat(1 << 20))).len()
            < 1_000
    );
    assert!(post(&good, &host, 10, "words=abcd").starts_with("HTTP/1.1 303"));
    let (code, log) = served.stop();
    assert_eq!(code, Some(0), "{log}");
    assert!(log.contains("evil.example") && log.contains("the token is missing"), "{log}");
}

#[test]
fn a_device_that_drips_its_request_out_is_let_go() {
    let boat = Boat::new();
    let served = Served::here(&boat, &[]);
    let begun = Instant::now();
    let mut dripping: Vec<TcpStream> =
        (0..100).map(|_| TcpStream::connect(served.host()).expect("it listens")).collect();
    for stream in &mut dripping {
        stream.write_all(b"GET / HTTP/1.1\r\nHost: ").expect("it reads");
    }
    assert!(get(&served, "/").starts_with("HTTP/1.1 200"), "others are answered meanwhile");
    for stream in &mut dripping {
        stream.set_read_timeout(Some(Duration::from_secs(30))).expect("a timeout");
        let mut rest = Vec::new();
        stream.read_to_end(&mut rest).expect("it hangs up");
    }
    let took = begun.elapsed();
    assert!((5..25).contains(&took.as_secs()), "{took:?}");
    assert!(get(&served, "/").starts_with("HTTP/1.1 200"));
}

#[test]
fn a_request_in_flight_is_answered_before_the_end() {
    let boat = Boat::new();
    let mut served = Served::here(&boat, &[]);
    let path = format!("/note?token={}", token(&served));
    let body = "words=Heater+failed+at+19+degrees";
    let mut stream = TcpStream::connect(served.host()).expect("it listens");
    let head = format!(
        "POST {path} HTTP/1.1\r\nHost: {0}\r\nOrigin: http://{0}\r\nContent-Type: application/x-www-form-urlencoded\r\n\
         Content-Length: {1}\r\n\r\n",
        served.host(),
        body.len()
    );
    stream.write_all(head.as_bytes()).expect("it reads");
    stream.write_all(&body.as_bytes()[..10]).expect("it reads");
    std::thread::sleep(Duration::from_millis(300));
    served.terminate();
    std::thread::sleep(Duration::from_millis(300));
    stream.write_all(&body.as_bytes()[10..]).expect("it still reads");
    let mut answer = String::new();
    stream.set_read_timeout(Some(Duration::from_secs(20))).expect("a timeout");
    stream.read_to_string(&mut answer).expect("it answers");
    assert!(answer.starts_with("HTTP/1.1 303"), "{answer}");
    assert!(served.ended_within(Duration::from_secs(10)));
    assert_eq!(taken(&boat, "heater failed"), 1);
}

#[test]
fn another_address_needs_a_code_and_says_so() {
    let Some(network) = Network::lay(2) else { return };
    let boat = Boat::new();
    let at = format!("{}:7373", network.there);
    let served = Served::by(network.in_it(&boat.command(&["serve", "--at", &at])));
    assert!(served.code.as_ref().is_some_and(|code| code.len() == 8), "{}", served.said);
    assert!(served.said.contains('█') || served.said.contains('▀'), "{}", served.said);
    assert!(served.said.contains("caution:"), "{}", served.said);
    let answer = get(&served, "/");
    assert!(answer.starts_with("HTTP/1.1 303") && answer.contains("location: /pair"), "{answer}");
    // An address that is none of this machine's is refused at the start.
    let refused = boat.run(&["serve", "--at", "192.0.2.7"]).ends(2);
    assert!(refused.err.contains("cannot be served at 192.0.2.7:7373"), "{}", refused.err);
    boat.run(&["serve", "--at", "boat.local"]).ends(2);
}

#[tokio::test(flavor = "multi_thread")]
async fn over_tls_the_page_opens_without_network_and_sends_what_was_written() {
    if !browser::is_there() {
        return;
    }
    let Some(network) = Network::lay(3) else { return };
    let boat = Boat::new();
    let at = format!("{}:7373", network.there);
    let served = Served::by(network.in_it(&boat.command(&["serve", "--at", &at, "--tls"])));
    assert!(served.address.starts_with("https://"), "{}", served.said);
    // Plain HTTP gets the certificate and nothing of the boat.
    let invited = get(&served, "/");
    assert!(invited.starts_with("HTTP/1.1 200") && invited.contains("/leadsman.crt"), "{invited}");
    let print = served.said.split("its SHA-256: ").nth(1).expect("a fingerprint").split_whitespace().next();
    assert!(invited.contains(print.expect("a fingerprint").trim()), "{invited}");
    let given = get(&served, "/leadsman.crt");
    let certificate = given.split("\r\n\r\n").nth(1).expect("a file");
    let file = boat.write("leadsman.crt", certificate);

    let Some(browser) = Browser::trusting(360, &file).await else { return };
    let code = served.code.clone().expect("a code");
    browser.go(&format!("{}/pair#{code}", served.address)).await;
    browser.until(&format!("document.getElementById('code').value === '{code}'")).await;
    browser.click("#pair button").await;
    browser.until("location.pathname === '/' && document.querySelector('.empty')").await;
    browser.until("navigator.serviceWorker.controller").await;
    let note = format!("{}/note", served.address);

    network.cable(false);
    // Another page in between, so that the note's screen is opened anew.
    browser.go("about:blank").await;
    browser.go(&note).await;
    browser.until("document.getElementById('words')").await;
    for (n, words) in
        ["Heater drew 3.1 amps all night.", "Forehatch stayed dry in 25 knots."].iter().enumerate()
    {
        browser.type_in("#words", words).await;
        browser.click("#words-form button").await;
        let kept = format!("document.querySelectorAll('#kept-list li').length === {}", n + 1);
        browser.until(&format!("{kept} && !document.getElementById('words').value")).await;
    }
    network.cable(true);
    browser.until("document.getElementById('unsent').hidden").await;
    assert_eq!((taken(&boat, "all night"), taken(&boat, "stayed dry")), (1, 1));
    assert!(
        browser.run("return isSecureContext && !document.getElementById('recorder').hidden").await == true
    );
    served.stop();
}
