//! `record`: real sockets on this machine, stopped in every way that there is.

use std::io::{Read, Write};
use std::net::{TcpListener, TcpStream, UdpSocket};
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

use crate::boat::{Boat, Ran};

const WIND: &[u8] = b"$WIMWV,57.5,R,13.0,N,A*26\r\n";
const PATIENCE: Duration = Duration::from_secs(60);

fn start(boat: &Boat, address: &str) -> Child {
    let mut command = boat.command(&["record", address]);
    command.stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().expect("the program starts")
}

/// Waits until the files that a recording grows in hold so many bytes.
fn wait_for(boat: &Boat, bytes: u64) {
    let since = Instant::now();
    while recorded(boat) < bytes {
        assert!(since.elapsed() < PATIENCE, "{} of {bytes} bytes after a minute", recorded(boat));
        std::thread::sleep(Duration::from_millis(50));
    }
}

fn recorded(boat: &Boat) -> u64 {
    let Ok(entries) = std::fs::read_dir(boat.home().join("recording")) else { return 0 };
    entries.filter_map(|entry| Some(entry.ok()?.metadata().ok()?.len())).sum()
}

fn signal(child: &Child, name: &str) {
    let done = Command::new("kill").args([name, &child.id().to_string()]).status().expect("kill is there");
    assert!(done.success());
}

fn end(child: Child) -> Ran {
    Ran::of(child.wait_with_output().expect("the program ends"))
}

/// Samples of apparent wind speed in the home.
fn samples(boat: &Boat) -> u64 {
    let all = boat.run(&["channels", "apparent wind speed", "--json"]).ends(0).json();
    all["channels"].as_array().expect("a list").iter().map(|c| c["samples"].as_u64().expect("a count")).sum()
}

/// Listens; what is accepted sends nothing by itself and hears whether anything is sent to it.
fn accept(listener: &TcpListener) -> TcpStream {
    listener.set_nonblocking(true).expect("a socket");
    let since = Instant::now();
    loop {
        match listener.accept() {
            Ok((stream, _)) => {
                stream.set_nonblocking(false).expect("a socket");
                return stream;
            }
            Err(_) => {
                assert!(since.elapsed() < PATIENCE, "nobody connected");
                std::thread::sleep(Duration::from_millis(50));
            }
        }
    }
}

#[test]
fn a_connection_that_breaks_is_made_again_and_a_request_to_end_is_clean() {
    let boat = Boat::new();
    let listener = TcpListener::bind("127.0.0.1:0").expect("a port");
    let address = format!("tcp://{}", listener.local_addr().expect("an address"));
    let recorder = start(&boat, &address);
    let mut first = accept(&listener);
    first.write_all(&WIND.repeat(20)).expect("sent");
    wait_for(&boat, 20 * (WIND.len() as u64 + 25));
    drop(first);
    let mut second = accept(&listener);
    // The second half of a line comes later.
    second.write_all(&WIND[..10]).expect("sent");
    std::thread::sleep(Duration::from_millis(300));
    second.write_all(&WIND[10..]).expect("sent");
    wait_for(&boat, 21 * (WIND.len() as u64 + 25));
    // Nothing was ever sent.
    second.set_read_timeout(Some(Duration::from_millis(200))).expect("a socket");
    let mut heard = [0; 16];
    assert!(second.read(&mut heard).is_err(), "{heard:?}");

    signal(&recorder, "-TERM");
    let ran = end(recorder).ends(0);
    assert!(ran.out.contains("lost: the other side closed the connection; again in 1 s"), "{}", ran.out);
    assert!(ran.out.contains("kept recorded-") && ran.out.contains("21 records"), "{}", ran.out);
    assert_eq!((samples(&boat), recorded(&boat)), (21, 0));
    // The time of arrival stands in front of each line, so the channel has a span of today.
    let channels = boat.run(&["channels", "apparent wind speed", "--json"]).ends(0).json();
    let first = channels["channels"][0]["first"].as_str().expect("a time").to_owned();
    assert!(first.starts_with(&chrono::Utc::now().format("%Y-").to_string()), "{first}");
}

#[test]
fn what_came_before_a_crash_is_there_after_it() {
    let boat = Boat::new();
    let listener = TcpListener::bind("127.0.0.1:0").expect("a port");
    let recorder = start(&boat, &format!("tcp://{}", listener.local_addr().expect("an address")));
    let mut feed = accept(&listener);
    feed.write_all(&WIND.repeat(50)).expect("sent");
    wait_for(&boat, 50 * (WIND.len() as u64 + 25));
    // While it is being written, nobody else takes it.
    assert_eq!(samples(&boat), 0);
    signal(&recorder, "-KILL");
    assert_eq!(end(recorder).code, None);
    assert_eq!((samples(&boat), recorded(&boat)), (50, 0));
    assert_eq!(samples(&boat), 50, "and once only");
}

#[test]
fn datagrams_are_recorded() {
    let boat = Boat::new();
    let free = UdpSocket::bind("127.0.0.1:0").expect("a port");
    let port = free.local_addr().expect("an address").port();
    drop(free);
    let recorder = start(&boat, &format!("udp://:{port}"));
    let sender = UdpSocket::bind("127.0.0.1:0").expect("a port");
    let since = Instant::now();
    // The first may come before it listens. The line's end is left out, as some senders do.
    while recorded(&boat) == 0 {
        assert!(since.elapsed() < PATIENCE, "nothing was recorded");
        sender.send_to(WIND.trim_ascii_end(), ("127.0.0.1", port)).ok();
        std::thread::sleep(Duration::from_millis(100));
    }
    signal(&recorder, "-INT");
    end(recorder).ends(0);
    assert!(samples(&boat) >= 1);
}

#[test]
fn standard_input_is_recorded_to_its_end() {
    let boat = Boat::new();
    let delta = "{\"updates\":[{\"timestamp\":\"2026-05-09T10:11:12Z\",\"$source\":\"log\",\"values\":[{\"path\":\"navigation.speedThroughWater\",\"value\":3.0}]}]}\n";
    let ran = boat.run_with(delta.repeat(30).as_bytes(), &["record", "-"]).ends(0);
    assert!(ran.out.contains("30 records"), "{}", ran.out);
    let channels = boat.run(&["channels", "boat_speed", "--json"]).ends(0).json();
    assert_eq!(channels["channels"][0]["samples"], 30);
}

/// A feed of garbage as fast as it is taken, 48 MB of it: the memory stays bounded, the disk too, and it is counted.
#[test]
#[cfg(target_os = "linux")]
fn a_feed_of_garbage_fills_neither_memory_nor_disk() {
    let boat = Boat::new();
    let listener = TcpListener::bind("127.0.0.1:0").expect("a port");
    let recorder = start(&boat, &format!("tcp://{}", listener.local_addr().expect("an address")));
    let mut feed = accept(&listener);
    let mut state = 42_u64;
    let mut garbage = vec![0; 1 << 20];
    for n in 0..48 {
        for byte in &mut garbage {
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            *byte = (state >> 56) as u8;
        }
        if n % 3 == 0 {
            // A line that never ends.
            garbage.fill(b'$');
        }
        feed.write_all(&garbage).expect("sent");
        feed.write_all(b"\r\n").and_then(|()| feed.write_all(WIND)).expect("sent");
    }
    let status = format!("/proc/{}/status", recorder.id());
    let since = Instant::now();
    // Everything has gone through when the last sentence has.
    drop(feed);
    accept(&listener);
    let status = std::fs::read_to_string(status).expect("it runs");
    let peak = status.lines().find_map(|line| line.strip_prefix("VmHWM:")).expect("its peak");
    let peak_kb: u64 = peak.trim().trim_end_matches("kB").trim().parse().expect("a number");
    println!("48 MB of garbage: {} MB of memory at most, read within {:?}", peak_kb >> 10, since.elapsed());
    assert!(peak_kb < 100 << 10, "{peak_kb} kB");
    assert!(recorded(&boat) < 1 << 20, "{} bytes", recorded(&boat));
    signal(&recorder, "-INT");
    let ran = end(recorder).ends(0);
    assert!(ran.out.contains("48 records") && ran.out.contains("bytes of no record left out"), "{}", ran.out);
    assert_eq!(samples(&boat), 48);
}

/// What holds no record at all is kept as an instrument's log with its counts, not taken for somebody's words.
#[test]
fn a_feed_of_words_and_broken_sentences_is_no_note() {
    let boat = Boat::new();
    let feed =
        "We tried the windvane and it failed to hold a course.\r\n$WIMWV,57.5,R,13.0,N,A*27\r\n".repeat(20);
    let ran = boat.run_with(feed.as_bytes(), &["record", "-"]).ends(0);
    assert!(ran.out.contains("0 records, 40 lines that are none"), "{}", ran.out);
    assert!(ran.out.contains("nothing that came is a record of an instrument"), "{}", ran.out);
    assert_eq!(boat.run(&["open", "--json"]).ends(0).json()["open"], serde_json::json!([]));
    assert_eq!(boat.run(&["find", "windvane", "--exit-code"]).code, Some(1));
    let notices = boat.run(&["notices"]).ends(0).out;
    assert!(notices.contains("20") && notices.contains("checksum"), "{notices}");
}

#[test]
fn wrong_addresses_are_told() {
    let boat = Boat::new();
    for address in ["plotter:10110", "tcp://:10110", "http://plotter"] {
        assert!(boat.run(&["record", address]).ends(2).err.contains("expected tcp://HOST:PORT"), "{address}");
    }
    let taken = UdpSocket::bind("0.0.0.0:0").expect("a port");
    let port = taken.local_addr().expect("an address").port();
    let ran = boat.run(&["record", &format!("udp://:{port}")]).ends(3);
    assert!(ran.err.contains("cannot listen on"), "{}", ran.err);
}
