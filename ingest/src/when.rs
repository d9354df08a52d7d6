//! When a recording or an entry begins, in which zone, and how that is known.
