//! Many devices at once: 64 clients ask for *before departure* for 30 seconds, over loopback, of a home with ten years of
//! notes; and the same while notes are being taken. Prints how long answers took; ends with 1 where 99 of 100 took longer
//! than is asked for, or one failed.
//!
//! The home is made of the corpus boats, told again for each of ten years.

use std::net::SocketAddr;
use std::path::Path;
use std::process::ExitCode;
use std::sync::Arc;
use std::time::{Duration, Instant};

use chrono::Utc;
use chrono_tz::Tz;
use leadsman_index::{Dump, Home};
use leadsman_query::settings::Sourced;
use leadsman_query::web::page::{Page, Setting};
use leadsman_query::web::serve;
use tokio::io::{AsyncReadExt, AsyncWriteExt};
use tokio::net::TcpStream;

const CLIENTS: usize = 64;
const SECONDS: u64 = 30;
/// The longest that 99 of 100 answers may take.
const MOST: Duration = Duration::from_millis(50);
const BOATS: [&str; 6] = ["quillback", "marigold", "corncrake", "saltmarsh", "kittiwake", "petrel"];
const LAST_YEAR: i32 = 2026;

fn main() -> ExitCode {
    let runtime = tokio::runtime::Builder::new_multi_thread().enable_all().build().expect("threads");
    if runtime.block_on(run()) { ExitCode::SUCCESS } else { ExitCode::FAILURE }
}

async fn run() -> bool {
    let folder = tempfile::tempdir().expect("a folder");
    let begun = Instant::now();
    let notes = ten_years(folder.path()).await;
    println!("home: {notes} notes of ten years, made in {:.1} s", begun.elapsed().as_secs_f64());
    let setting = Setting {
        home: folder.path().to_owned(),
        zone: Sourced { value: Tz::UTC, from: "--zone".to_owned() },
        on: None,
        names: Vec::new(),
        pairing: false,
        secure: false,
        patience: Duration::from_secs(30),
        largest_upload: 1 << 20,
        log: Box::new(|line| eprintln!("{line}")),
        clock: Utc::now,
    };
    let page = Arc::new(Page::new(setting).expect("a home"));
    let listener = serve::bind(SocketAddr::from(([127, 0, 0, 1], 0))).await.expect("a port");
    let at = listener.local_addr().expect("an address");
    let (end, ended) = tokio::sync::oneshot::channel::<()>();
    let stop = async move {
        ended.await.ok();
    };
    let server = tokio::spawn(serve::serve(listener, page, None, stop));
    let begun = Instant::now();
    let first = ask(&mut TcpStream::connect(at).await.expect("it listens"), at).await.expect("an answer");
    println!("first answer: {:.0} ms, {first} bytes", begun.elapsed().as_secs_f64() * 1000.0);

    let until = Instant::now() + Duration::from_secs(SECONDS);
    let clients: Vec<_> = (0..CLIENTS).map(|_| tokio::spawn(client(at, until))).collect();
    let (mut times, mut failed) = (Vec::new(), 0);
    for client in clients {
        let (took, bad) = client.await.expect("a client ends");
        times.extend(took);
        failed += bad;
    }
    end.send(()).ok();
    server.await.expect("it ends").expect("it serves");
    times.sort_unstable();
    let at = |share: f64| times[((times.len() - 1) as f64 * share) as usize].as_secs_f64() * 1000.0;
    println!(
        "{} answers in {SECONDS} s to {CLIENTS} clients: half in {:.1} ms, 99 of 100 in {:.1} ms (asked for: under {} ms), \
         the slowest {:.1} ms; {failed} failed",
        times.len(),
        at(0.5),
        at(0.99),
        MOST.as_millis(),
        at(1.0)
    );
    failed == 0 && at(0.99) < MOST.as_secs_f64() * 1000.0
}

/// One device, which asks again as soon as it is answered.
async fn client(at: SocketAddr, until: Instant) -> (Vec<Duration>, usize) {
    let (mut times, mut failed) = (Vec::new(), 0);
    let mut stream = TcpStream::connect(at).await.expect("it listens");
    while Instant::now() < until {
        let begun = Instant::now();
        match ask(&mut stream, at).await {
            Ok(_) => times.push(begun.elapsed()),
            Err(_) => {
                failed += 1;
                stream = TcpStream::connect(at).await.expect("it listens");
            }
        }
    }
    (times, failed)
}

/// Asks for the first screen on a connection that stays open; gives the length of the answer's body.
async fn ask(stream: &mut TcpStream, at: SocketAddr) -> std::io::Result<usize> {
    let broken = || std::io::Error::other("no good answer");
    stream.write_all(format!("GET / HTTP/1.1\r\nHost: {at}\r\n\r\n").as_bytes()).await?;
    let mut answer = Vec::with_capacity(64 << 10);
    let (head, length) = loop {
        if stream.read_buf(&mut answer).await? == 0 {
            return Err(broken());
        }
        if let Some(end) = answer.windows(4).position(|signs| signs == b"\r\n\r\n") {
            let head = String::from_utf8_lossy(&answer[..end]).to_lowercase();
            if !head.starts_with("http/1.1 200") {
                return Err(broken());
            }
            let length = head.split("content-length: ").nth(1).and_then(|rest| rest.split("\r\n").next());
            break (end + 4, length.and_then(|length| length.parse::<usize>().ok()).ok_or_else(broken)?);
        }
    };
    while answer.len() < head + length {
        if stream.read_buf(&mut answer).await? == 0 {
            return Err(broken());
        }
    }
    Ok(length)
}

/// Takes the corpus once for each of ten years, with the years in names and words moved.
async fn ten_years(home: &Path) -> usize {
    let corpus = concat!(env!("CARGO_MANIFEST_DIR"), "/../fixtures/corpus");
    let mut dumps = Vec::new();
    for year in LAST_YEAR - 9..=LAST_YEAR {
        for boat in BOATS {
            let mut paths: Vec<_> = std::fs::read_dir(format!("{corpus}/{boat}"))
                .expect("the boat's folder")
                .map(|entry| entry.expect("an entry").path())
                .filter(|path| path.extension().is_some_and(|end| end != "json"))
                .collect();
            paths.sort();
            for path in paths {
                let name =
                    path.file_name().expect("a name").to_string_lossy().replace("2026", &year.to_string());
                let Ok(text) = std::fs::read_to_string(&path) else { continue };
                let text = text.replace("2026", &year.to_string()) + &format!("\nOf {boat}, {year}.\n");
                dumps.push(Dump::bytes(format!("{boat}-{name}"), text.into_bytes()));
            }
        }
    }
    let count = dumps.len();
    let mut writer = Home::open(home).expect("a home").writer(Duration::ZERO).await.expect("free");
    writer.ingest(dumps, |_| {}).await.expect("taken");
    writer.finish().await.expect("done");
    count
}
