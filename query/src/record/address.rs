//! Where a feed comes from: `tcp://HOST:PORT`, `udp://:PORT`, or `-` for standard input.

use std::fmt;
use std::str::FromStr;

/// The port that IANA's registry names nmea-0183 (service names and port numbers, 10110; from memory).
pub const USUAL_PORT: u16 = 10110;

/// Where a feed comes from.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Address {
    /// A server aboard, which is connected to.
    Tcp {
        /// Its name or address.
        host: String,
        /// Its port.
        port: u16,
    },
    /// Datagrams that are sent to this machine.
    Udp {
        /// The address of this machine that listens; empty for all of them.
        host: String,
        /// The port that listens.
        port: u16,
    },
    /// Standard input.
    StandardInput,
}

impl FromStr for Address {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let wrong =
            |what: &str| format!("expected tcp://HOST:PORT, udp://:PORT or - for standard input; {what}");
        let text = text.trim();
        if text == "-" {
            return Ok(Address::StandardInput);
        }
        let (scheme, rest) = text.split_once("://").ok_or_else(|| wrong("there is no \"://\" in it"))?;
        let rest = rest.strip_suffix('/').unwrap_or(rest);
        // An IPv6 address stands in brackets, as its own colons would be taken for the port's.
        let (host, port) = match rest.strip_prefix('[').and_then(|rest| rest.split_once(']')) {
            Some((host, port)) => (host, port.strip_prefix(':').unwrap_or(port)),
            None => rest.rsplit_once(':').unwrap_or((rest, "")),
        };
        if host.contains(['/', ' ', '@', ':']) && !rest.starts_with('[') {
            return Err(wrong(&format!("\"{host}\" is no host")));
        }
        let port = match port {
            "" => USUAL_PORT,
            digits => digits
                .parse()
                .ok()
                .filter(|port| *port > 0)
                .ok_or_else(|| wrong(&format!("\"{digits}\" is no port from 1 to 65535")))?,
        };
        let host = host.to_owned();
        match scheme.to_ascii_lowercase().as_str() {
            "tcp" if host.is_empty() => Err(wrong("a host is missing")),
            "tcp" => Ok(Address::Tcp { host, port }),
            "udp" => Ok(Address::Udp { host, port }),
            other => Err(wrong(&format!("\"{other}\" is neither tcp nor udp"))),
        }
    }
}

impl fmt::Display for Address {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let bracketed = |host: &str| if host.contains(':') { format!("[{host}]") } else { host.to_owned() };
        match self {
            Address::Tcp { host, port } => write!(f, "tcp://{}:{port}", bracketed(host)),
            Address::Udp { host, port } => write!(f, "udp://{}:{port}", bracketed(host)),
            Address::StandardInput => f.write_str("standard input"),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn addresses() {
        let tcp = |host: &str, port| Ok(Address::Tcp { host: host.to_owned(), port });
        assert_eq!("tcp://plotter.local:2000".parse(), tcp("plotter.local", 2000));
        assert_eq!("tcp://192.168.1.4".parse(), tcp("192.168.1.4", 10110));
        assert_eq!("TCP://[::1]:10110/".parse(), tcp("::1", 10110));
        assert_eq!("udp://:2000".parse(), Ok(Address::Udp { host: String::new(), port: 2000 }));
        assert_eq!("-".parse(), Ok(Address::StandardInput));
        for wrong in [
            "tcp://:10110",
            "plotter:10110",
            "http://plotter:80",
            "tcp://plotter:0",
            "tcp://plotter:99999",
            "udp://a/b:1",
            "",
        ] {
            let said = wrong.parse::<Address>().expect_err(wrong);
            assert!(said.starts_with("expected tcp://HOST:PORT"), "{said}");
        }
    }

    #[test]
    fn shown_as_given() {
        for text in ["tcp://plotter:2000", "udp://:10110", "tcp://[::1]:10110"] {
            assert_eq!(text.parse::<Address>().expect("an address").to_string(), text);
        }
    }
}
