//! Stance: what the speaker means by a number.
