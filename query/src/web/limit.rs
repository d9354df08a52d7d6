//! How fast one address may ask: a bucket an address that fills again with time.

use std::collections::HashMap;
use std::net::IpAddr;
use std::sync::{Mutex, PoisonError};
use std::time::{Duration, Instant};

/// A pace: so many at once, and so many a minute after that.
#[derive(Clone, Copy, Debug)]
pub struct Pace {
    burst: f64,
    a_minute: f64,
}

/// Changes: a phone that comes back with a day's notes sends them one by one.
const CHANGES: Pace = Pace { burst: 120.0, a_minute: 120.0 };
/// Codes tried: a few slips of the finger, and nothing that guesses.
const CODES: Pace = Pace { burst: 5.0, a_minute: 5.0 };
/// Addresses remembered; past this the fullest buckets are forgotten, which say nothing.
const MOST: usize = 4_096;

/// The buckets of all addresses.
#[derive(Default)]
pub struct Limits {
    changes: Buckets,
    codes: Buckets,
}

type Buckets = Mutex<HashMap<IpAddr, (f64, Instant)>>;

impl Limits {
    /// Whether an address may change something now.
    pub fn change(&self, from: IpAddr) -> bool {
        take(&self.changes, CHANGES, from, Instant::now())
    }

    /// Whether an address may try a code now.
    pub fn code(&self, from: IpAddr) -> bool {
        take(&self.codes, CODES, from, Instant::now())
    }
}

fn take(buckets: &Buckets, pace: Pace, from: IpAddr, now: Instant) -> bool {
    let mut buckets = buckets.lock().unwrap_or_else(PoisonError::into_inner);
    let full_after = Duration::from_secs_f64(60.0 * pace.burst / pace.a_minute);
    if buckets.len() >= MOST {
        buckets.retain(|_, (_, at)| now.duration_since(*at) < full_after);
    }
    let (left, at) = buckets.entry(from).or_insert((pace.burst, now));
    let filled = now.duration_since(*at).as_secs_f64() * pace.a_minute / 60.0;
    *left = (*left + filled).min(pace.burst);
    *at = now;
    if *left < 1.0 {
        return false;
    }
    *left -= 1.0;
    true
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_bucket_empties_and_fills_again() {
        let buckets = Buckets::default();
        let (one, other): (IpAddr, IpAddr) = ([10, 0, 0, 1].into(), [10, 0, 0, 2].into());
        let start = Instant::now();
        let taken = (0..1000).filter(|_| take(&buckets, CODES, one, start)).count();
        assert_eq!(taken, 5);
        assert!(take(&buckets, CODES, other, start), "another address has its own");
        assert!(!take(&buckets, CODES, one, start + Duration::from_secs(11)));
        assert!(take(&buckets, CODES, one, start + Duration::from_secs(13)));
    }
}
