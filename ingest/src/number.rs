//! Numbers as people say and write them.
