//! The page served by the real program, ended as a skipper ends it.

use std::io::{BufRead, BufReader, Read};
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

use crate::boat::Boat;

/// A program that serves.
pub struct Served {
    child: Child,
    /// Where the page is, without a slash at the end.
    pub address: String,
    /// The pairing code that the terminal showed.
    pub code: Option<String>,
    /// What it had printed until it served.
    pub said: String,
    err: Option<std::thread::JoinHandle<String>>,
}

impl Served {
    /// Serves a boat's page at a free port of the loopback address.
    pub fn here(boat: &Boat, arguments: &[&str]) -> Self {
        let mut all = vec!["serve", "--at", "127.0.0.1:0"];
        all.extend(arguments);
        Self::by(boat.command(&all))
    }

    /// Serves by a command.
    pub fn by(mut command: Command) -> Self {
        let mut child = command.stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().expect("it starts");
        let mut out = BufReader::new(child.stdout.take().expect("a pipe"));
        let mut err = child.stderr.take().expect("a pipe");
        let err = std::thread::spawn(move || {
            let mut text = String::new();
            err.read_to_string(&mut text).ok();
            text
        });
        let mut said = String::new();
        loop {
            let mut line = String::new();
            let read = out.read_line(&mut line).expect("text");
            said += &line;
            if read == 0 || line.starts_with("stop with") {
                break;
            }
        }
        // What it says later goes nowhere, and must not fill the pipe.
        std::thread::spawn(move || std::io::copy(&mut out, &mut std::io::sink()));
        if !said.contains("stop with") {
            child.wait().ok();
            panic!("it does not serve: {said}\n{}", err.join().unwrap_or_default());
        }
        let address = said.split_whitespace().find(|word| word.starts_with("http")).expect("an address");
        let address = address.trim_end_matches('/').to_owned();
        let code = said.split("good for one device: ").nth(1).and_then(|rest| rest.split_whitespace().next());
        let code = code.map(str::to_owned);
        Self { child, address, code, said, err: Some(err) }
    }

    /// The host and port.
    pub fn host(&self) -> &str {
        self.address.split("//").nth(1).expect("an address")
    }

    /// Asks it to stop, and gives what it wrote on standard error and how it ended.
    pub fn stop(mut self) -> (Option<i32>, String) {
        self.terminate();
        let status = self.child.wait().expect("it ends");
        (status.code(), self.err.take().and_then(|err| err.join().ok()).unwrap_or_default())
    }

    pub fn terminate(&self) {
        Command::new("kill").args(["-TERM", &self.child.id().to_string()]).status().expect("kill is there");
    }

    /// How long it takes to end by itself.
    pub fn ended_within(&mut self, most: Duration) -> bool {
        let begun = Instant::now();
        while begun.elapsed() < most {
            if self.child.try_wait().is_ok_and(|ended| ended.is_some()) {
                return true;
            }
            std::thread::sleep(Duration::from_millis(20));
        }
        false
    }
}

impl Drop for Served {
    fn drop(&mut self) {
        if self.child.try_wait().is_ok_and(|ended| ended.is_none()) {
            self.terminate();
            if !self.ended_within(Duration::from_secs(25)) {
                self.child.kill().ok();
            }
        }
    }
}
