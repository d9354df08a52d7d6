//! `leadsman serve`: the page, for a browser on this machine or on the boat's own network.

use std::net::{IpAddr, Ipv4Addr, SocketAddr, UdpSocket};
use std::sync::Arc;

use chrono::Utc;
use clap::Args;

use super::context::{Context, PATIENCE};
use crate::error::{Error, Exit};
use crate::screen::{CARE, STRONG, styled};
use crate::web::authority::Authority;
use crate::web::invite::Invitation;
use crate::web::page::{Page, Setting};
use crate::web::serve;

/// The port where none is given.
const PORT: u16 = 7373;
/// The largest upload, in bytes: a day of instrument logs, or some hours of recordings.
const LARGEST_UPLOAD: u64 = 512 << 20;

/// Serve the page: notes taken, what stands open, find and trend in a browser
#[derive(Debug, Args)]
pub struct Serve {
    /// Address to serve at instead of 127.0.0.1, with a port if another than 7373 is wanted; devices are then paired
    #[arg(long, value_name = "ADDR[:PORT]", value_parser = address)]
    at: Option<SocketAddr>,
    /// A name that this machine goes by on the network, besides its address; may be given more than once
    #[arg(long, value_name = "NAME")]
    name: Vec<String>,
    /// Serve over TLS by a certificate of the home's own, which each device is given once: then the page opens without
    /// network and records by itself
    #[arg(long)]
    tls: bool,
}

impl Serve {
    pub async fn run(self, context: &mut Context) -> Result<Exit, Error> {
        let at = self.at.unwrap_or(SocketAddr::from((Ipv4Addr::LOCALHOST, PORT)));
        let pairing = !at.ip().is_loopback();
        let listener = serve::bind(at).await?;
        let at = listener.local_addr().unwrap_or(at);
        let setting = Setting {
            home: context.home.path.clone(),
            zone: context.zone.clone(),
            on: context.asked(),
            names: self.name.clone(),
            pairing,
            secure: self.tls,
            patience: PATIENCE,
            largest_upload: LARGEST_UPLOAD,
            log: Box::new(|line| anstream::eprintln!("{line}")),
            clock: Utc::now,
        };
        let page = Arc::new(Page::new(setting)?);
        let shown = SocketAddr::new(outward(at.ip()), at.port());
        let mut fingerprint = None;
        let tls = if self.tls {
            context.home.open()?;
            let authority = Authority::of(&context.home.path, Utc::now())?;
            let mut addresses = vec![shown.ip()];
            if at.ip().is_unspecified() {
                addresses.push(Ipv4Addr::LOCALHOST.into());
            }
            fingerprint = Some(authority.fingerprint());
            let config = authority.server(&addresses, &self.name, Utc::now())?;
            Some(serve::Tls { config, invitation: Invitation::new(&authority, &self.name) })
        } else {
            None
        };
        let screen = &mut context.screen;
        let scheme = if self.tls { "https" } else { "http" };
        screen.line(format!(
            "the page of {} is at {}",
            context.home.path.display(),
            styled(STRONG, format!("{scheme}://{shown}/"))
        ))?;
        if pairing {
            let code = page.code();
            let invitation = format!("{scheme}://{shown}/pair#{code}");
            if let Some(picture) = picture(&invitation) {
                screen.gap()?;
                for line in picture.lines() {
                    screen.line(line)?;
                }
            }
            screen.gap()?;
            screen.line(format!("pairing code, good for one device: {}", styled(STRONG, &code)))?;
        }
        if let Some(fingerprint) = fingerprint {
            screen.line(format!("a new device gets the certificate at http://{shown}/"))?;
            screen.paragraph("its SHA-256: ", "  ", &fingerprint)?;
        } else if pairing {
            let caution =
                "who is on the same network can read along; serve it on the boat's own network only";
            screen.paragraph(&format!("{} ", styled(CARE, "caution:")), "  ", caution)?;
        }
        screen.line("stop with Ctrl-C")?;
        std::io::Write::flush(screen)?;
        serve::serve(listener, page, tls, stopped()).await?;
        Ok(Exit::Done)
    }
}

/// Done when the program is asked to end.
async fn stopped() {
    #[cfg(unix)]
    {
        use tokio::signal::unix::{SignalKind, signal};
        // Where a signal cannot be heard, the other one still is.
        if let Ok(mut terminate) = signal(SignalKind::terminate()) {
            tokio::select! {
                _ = tokio::signal::ctrl_c() => {}
                _ = terminate.recv() => {}
            }
            return;
        }
    }
    tokio::signal::ctrl_c().await.ok();
}

/// The address by which other devices reach one that stands for all of this machine's. Nothing is sent to find it.
fn outward(at: IpAddr) -> IpAddr {
    if !at.is_unspecified() {
        return at;
    }
    // 192.0.2.0/24 is set aside for documentation (RFC 5737): no host is there, and connecting a datagram socket only
    // asks the system which way it would go.
    let asked = UdpSocket::bind((Ipv4Addr::UNSPECIFIED, 0)).and_then(|socket| {
        socket.connect((Ipv4Addr::new(192, 0, 2, 1), 9))?;
        socket.local_addr()
    });
    asked.map_or(at, |found| found.ip())
}

/// A QR code for a terminal.
fn picture(text: &str) -> Option<String> {
    let code = qrcode::QrCode::new(text).ok()?;
    let picture = code
        .render::<qrcode::render::unicode::Dense1x2>()
        .dark_color(qrcode::render::unicode::Dense1x2::Light)
        .light_color(qrcode::render::unicode::Dense1x2::Dark)
        .build();
    Some(picture)
}

/// Reads an address with or without a port.
fn address(text: &str) -> Result<SocketAddr, String> {
    let bare = text.trim_start_matches('[').trim_end_matches(']').parse::<IpAddr>();
    let with_port = text.parse::<SocketAddr>();
    with_port
        .or(bare.map(|ip| SocketAddr::new(ip, PORT)))
        .map_err(|_| "expected an address of this machine like 192.168.4.1 or 192.168.4.1:7373".to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn addresses_are_read_with_and_without_a_port() {
        assert_eq!(address("192.168.4.1").expect("one").to_string(), "192.168.4.1:7373");
        assert_eq!(address("192.168.4.1:80").expect("one").to_string(), "192.168.4.1:80");
        assert_eq!(address("::1").expect("one").to_string(), "[::1]:7373");
        assert_eq!(address("[::1]:80").expect("one").to_string(), "[::1]:80");
        for wrong in ["boat.local", "", "1.2.3", "1.2.3.4:99999"] {
            assert!(address(wrong).is_err(), "{wrong}");
        }
    }

    #[test]
    fn the_picture_holds_the_invitation() {
        let picture = picture("http://192.168.4.1:7373/pair#k7mp2wxz").expect("a short text fits");
        assert!(picture.lines().count() > 12);
    }
}
