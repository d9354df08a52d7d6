//! Serving: connections taken, bounded and timed, each answered by the router; an end that loses no request in flight.

use std::collections::HashMap;
use std::future::Future;
use std::net::{IpAddr, SocketAddr};
use std::sync::{Arc, Mutex, PoisonError};
use std::time::Duration;

use axum::Extension;
use hyper::server::conn::http1;
use hyper_util::rt::{TokioIo, TokioTimer};
use hyper_util::server::graceful::GracefulShutdown;
use hyper_util::service::TowerToHyperService;
use tokio::io::{AsyncRead, AsyncWrite};
use tokio::net::{TcpListener, TcpStream};
use tokio_rustls::TlsAcceptor;
use tokio_rustls::rustls::ServerConfig;

use super::guard::Ends;
use super::invite::Invitation;
use super::page::Page;
use super::{invite, router};
use crate::error::Error;

/// How long a device may take to say what it asks for; one that drips it out is let go.
const ASKING: Duration = Duration::from_secs(10);
/// How long requests in flight may take once the end was asked for.
const ENDING: Duration = Duration::from_secs(20);
/// Connections at a time, of all devices and of one.
const CONNECTIONS: usize = 512;
const OF_ONE: usize = 128;
/// The longest head of a request, in bytes.
const HEAD: usize = 32 << 10;

/// Serves a page until `stop` is done, then lets what is in flight come to its end.
///
/// With `tls`, a device that speaks plain HTTP gets the invitation and nothing else.
pub async fn serve(
    listener: TcpListener,
    page: Arc<Page>,
    tls: Option<Tls>,
    stop: impl Future<Output = ()>,
) -> Result<(), Error> {
    let router = router(page.clone());
    let tls = tls.map(|tls| (TlsAcceptor::from(tls.config), invite::router(Arc::new(tls.invitation))));
    let graceful = GracefulShutdown::new();
    let open = Arc::new(Open::default());
    let mut stop = std::pin::pin!(stop);
    let fresh = tokio::spawn({
        let page = page.clone();
        async move { page.keep_fresh().await }
    });
    loop {
        let (stream, peer) = tokio::select! {
            () = &mut stop => break,
            accepted = listener.accept() => match accepted {
                Ok(accepted) => accepted,
                Err(error) => {
                    // Out of handles, most likely: those in use come free with time.
                    (page.setting.log)(&format!("a connection could not be taken: {error}"));
                    tokio::time::sleep(Duration::from_millis(200)).await;
                    continue;
                }
            },
        };
        let Some(held) = open.take(peer.ip()) else {
            (page.setting.log)(&format!("refused a connection from {}: too many are open", peer.ip()));
            continue;
        };
        let Ok(local) = stream.local_addr() else { continue };
        let ends = Extension(Ends { peer, local });
        stream.set_nodelay(true).ok();
        let watcher = graceful.watcher();
        let (router, tls) = (router.clone(), tls.clone());
        tokio::spawn(async move {
            match tls {
                None => answer(stream, router.layer(ends), watcher).await,
                Some((acceptor, invitation)) => match begins_tls(&stream).await {
                    Some(true) => {
                        let shaken = tokio::time::timeout(ASKING, acceptor.accept(stream)).await;
                        // A device that does not trust the certificate yet hangs up here.
                        if let Ok(Ok(stream)) = shaken {
                            answer(stream, router.layer(ends), watcher).await;
                        }
                    }
                    Some(false) => answer(stream, invitation.layer(ends), watcher).await,
                    None => {}
                },
            }
            drop(held);
        });
    }
    drop(listener);
    tokio::select! {
        () = graceful.shutdown() => {}
        () = tokio::time::sleep(ENDING) => (page.setting.log)("some devices were still asking and were let go"),
    }
    fresh.abort();
    page.write_fresh().await;
    Ok(())
}

/// What is needed to serve over TLS.
pub struct Tls {
    /// The certificate and its key.
    pub config: Arc<ServerConfig>,
    /// What a device that speaks plain HTTP is told.
    pub invitation: Invitation,
}

/// Answers what comes over one connection, until it ends or the program does.
async fn answer(
    stream: impl AsyncRead + AsyncWrite + Unpin + Send + 'static,
    router: axum::Router,
    watcher: hyper_util::server::graceful::Watcher,
) {
    let mut http = http1::Builder::new();
    http.timer(TokioTimer::new()).header_read_timeout(ASKING).max_buf_size(HEAD);
    let connection = http.serve_connection(TokioIo::new(stream), TowerToHyperService::new(router));
    // A device that hangs up is no matter; what it had asked is answered or kept by then.
    watcher.watch(connection).await.ok();
}

/// Whether a connection begins as TLS does: its first record is a handshake, 22 (RFC 8446, 5.1). `None`: nothing came.
async fn begins_tls(stream: &TcpStream) -> Option<bool> {
    let mut first = [0];
    match tokio::time::timeout(ASKING, stream.peek(&mut first)).await {
        Ok(Ok(1)) => Some(first[0] == 22),
        _ => None,
    }
}

/// Connections that are open, by address.
#[derive(Default)]
struct Open(Mutex<HashMap<IpAddr, usize>>);

impl Open {
    /// Counts one more in; `None` where there are too many.
    fn take(self: &Arc<Self>, from: IpAddr) -> Option<Held> {
        let mut open = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        if open.values().sum::<usize>() >= CONNECTIONS || open.get(&from).is_some_and(|open| *open >= OF_ONE)
        {
            return None;
        }
        *open.entry(from).or_default() += 1;
        Some(Held { open: self.clone(), from })
    }
}

/// One connection's count, given back when it ends.
struct Held {
    open: Arc<Open>,
    from: IpAddr,
}

impl Drop for Held {
    fn drop(&mut self) {
        let mut open = self.open.0.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(count) = open.get_mut(&self.from) {
            *count -= 1;
            if *count == 0 {
                open.remove(&self.from);
            }
        }
    }
}

/// Binds an address. Errors: it is in use, or not this machine's.
pub async fn bind(at: SocketAddr) -> Result<TcpListener, Error> {
    TcpListener::bind(at).await.map_err(|error| {
        let error = Error::wrong_use(format!("the page cannot be served at {at}")).because(&error);
        error.hint("give another address or port with --at; port 0 takes one that is free")
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_address_cannot_take_all_connections() {
        let open = Arc::new(Open::default());
        let one = IpAddr::from([10, 0, 0, 1]);
        let mut held: Vec<Held> = (0..OF_ONE).filter_map(|_| open.take(one)).collect();
        assert_eq!(held.len(), OF_ONE);
        assert!(open.take(one).is_none());
        assert!(open.take(IpAddr::from([10, 0, 0, 2])).is_some());
        held.pop();
        assert!(open.take(one).is_some());
    }
}
