//! Matters: items of many notes folded, in the order of the notes, into what stands open and what was closed.
