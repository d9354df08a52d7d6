//! Reads a feed on a thread of its own, connecting again where it breaks off. Nothing is ever sent.

use std::io::{ErrorKind, Read};
use std::net::{TcpStream, ToSocketAddrs, UdpSocket};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::thread;
use std::time::{Duration, Instant};

use tokio::sync::mpsc;

use super::Address;

/// Bytes that are read at once: more than any datagram has.
const PIECE: usize = 64 * 1024;
/// Pieces that may wait to be kept. A sender that is faster is held up by it, so that the memory stays bounded.
const WAITING: usize = 16;
/// How often the thread looks whether it is to stop.
const LOOK: Duration = Duration::from_millis(200);
/// How long a connection may take to come about.
const CONNECT: Duration = Duration::from_secs(10);
/// A connection that has been silent for so long is taken for dead and made anew.
const SILENT: Duration = Duration::from_secs(60);
/// The first wait before connecting again; it doubles with each try that brings nothing.
const FIRST_WAIT: Duration = Duration::from_secs(1);
/// The longest wait.
const LONGEST_WAIT: Duration = Duration::from_secs(30);

/// What a feed tells.
#[derive(Debug, PartialEq, Eq)]
pub enum Event {
    /// It is connected, or listens.
    Open,
    /// Bytes came; those of a datagram end with it.
    Bytes(Vec<u8>),
    /// It broke off or could not be had; it is tried again after the wait.
    Lost {
        /// Why.
        why: String,
        /// How long it waits.
        wait: Duration,
    },
    /// It is at its end and does not come back.
    Ended,
}

/// A feed being read.
pub struct Feed {
    heard: mpsc::Receiver<Event>,
    stop: Arc<AtomicBool>,
}

impl Feed {
    /// Begins to read. Errors: a port that cannot be listened on.
    pub fn open(address: &Address) -> Result<Self, std::io::Error> {
        let (send, heard) = mpsc::channel(WAITING);
        let stop = Arc::new(AtomicBool::new(false));
        let reader = Reader { send, stop: stop.clone() };
        match address.clone() {
            Address::Tcp { host, port } => {
                thread::spawn(move || reader.tcp(&host, port));
            }
            Address::Udp { host, port } => {
                let host = if host.is_empty() { "0.0.0.0".to_owned() } else { host };
                let socket = UdpSocket::bind((host.as_str(), port))?;
                socket.set_read_timeout(Some(LOOK))?;
                thread::spawn(move || reader.udp(&socket));
            }
            Address::StandardInput => {
                thread::spawn(move || reader.standard_input());
            }
        }
        Ok(Self { heard, stop })
    }

    /// The next event; `None` once the feed is closed and all of it was heard.
    pub async fn next(&mut self) -> Option<Event> {
        self.heard.recv().await
    }

    /// Stops reading; what was read already can still be heard.
    pub fn close(&mut self) {
        self.stop.store(true, Ordering::Relaxed);
        self.heard.close();
    }
}

impl Drop for Feed {
    fn drop(&mut self) {
        self.close();
    }
}

struct Reader {
    send: mpsc::Sender<Event>,
    stop: Arc<AtomicBool>,
}

impl Reader {
    /// Tells an event; false where nobody wants to hear any more.
    fn tell(&self, event: Event) -> bool {
        self.send.blocking_send(event).is_ok() && !self.stop.load(Ordering::Relaxed)
    }

    fn tcp(&self, host: &str, port: u16) {
        let mut wait = FIRST_WAIT;
        while !self.stop.load(Ordering::Relaxed) {
            let why = match connect(host, port) {
                Ok(stream) => {
                    if !self.tell(Event::Open) {
                        return;
                    }
                    let (any, why) = self.stream(stream);
                    if any {
                        wait = FIRST_WAIT;
                    }
                    why
                }
                Err(error) => error.to_string(),
            };
            if !self.tell(Event::Lost { why, wait }) {
                return;
            }
            let until = Instant::now() + wait;
            while Instant::now() < until && !self.stop.load(Ordering::Relaxed) {
                thread::sleep(LOOK.min(wait));
            }
            wait = (wait * 2).min(LONGEST_WAIT);
        }
    }

    /// Reads a connection to its end: whether anything came, and why it ended.
    fn stream(&self, mut stream: TcpStream) -> (bool, String) {
        let mut buffer = vec![0; PIECE];
        let (mut any, mut last) = (false, Instant::now());
        loop {
            match stream.read(&mut buffer) {
                Ok(0) => return (any, "the other side closed the connection".to_owned()),
                Ok(length) => {
                    (any, last) = (true, Instant::now());
                    if !self.tell(Event::Bytes(buffer[..length].to_vec())) {
                        return (any, "stopped".to_owned());
                    }
                }
                Err(error) if is_timeout(&error) => {
                    if self.stop.load(Ordering::Relaxed) {
                        return (any, "stopped".to_owned());
                    }
                    if last.elapsed() >= SILENT {
                        return (any, format!("nothing came for {} s", SILENT.as_secs()));
                    }
                }
                Err(error) => return (any, error.to_string()),
            }
        }
    }

    fn udp(&self, socket: &UdpSocket) {
        let mut buffer = vec![0; PIECE];
        if !self.tell(Event::Open) {
            return;
        }
        while !self.stop.load(Ordering::Relaxed) {
            match socket.recv(&mut buffer) {
                Ok(0) => {}
                Ok(length) => {
                    let mut bytes = buffer[..length].to_vec();
                    // A datagram holds whole lines; the last one's end may be left out.
                    if bytes.last() != Some(&b'\n') {
                        bytes.push(b'\n');
                    }
                    if !self.tell(Event::Bytes(bytes)) {
                        return;
                    }
                }
                Err(error) if is_timeout(&error) => {}
                Err(error) => {
                    if !self.tell(Event::Lost { why: error.to_string(), wait: FIRST_WAIT }) {
                        return;
                    }
                    thread::sleep(FIRST_WAIT);
                }
            }
        }
    }

    fn standard_input(&self) {
        let mut input = std::io::stdin().lock();
        let mut buffer = vec![0; PIECE];
        if !self.tell(Event::Open) {
            return;
        }
        loop {
            match input.read(&mut buffer) {
                Ok(0) => break,
                Ok(length) => {
                    if !self.tell(Event::Bytes(buffer[..length].to_vec())) {
                        return;
                    }
                }
                Err(error) if error.kind() == ErrorKind::Interrupted => {}
                Err(_) => break,
            }
        }
        self.tell(Event::Ended);
    }
}

fn connect(host: &str, port: u16) -> std::io::Result<TcpStream> {
    let mut last = std::io::Error::new(ErrorKind::NotFound, "the name leads to no address");
    for address in (host, port).to_socket_addrs()? {
        match TcpStream::connect_timeout(&address, CONNECT) {
            Ok(stream) => {
                stream.set_read_timeout(Some(LOOK))?;
                return Ok(stream);
            }
            Err(error) => last = error,
        }
    }
    Err(last)
}

fn is_timeout(error: &std::io::Error) -> bool {
    matches!(error.kind(), ErrorKind::WouldBlock | ErrorKind::TimedOut | ErrorKind::Interrupted)
}
