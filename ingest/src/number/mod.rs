//! Numbers as people say and write them.
//!
//! A number is read in two steps. An [`Atom`] is what grammar alone settles: "twenty two", "12.8", "six and a half",
//! "point nine". Atoms that stand side by side make a [`Run`], and only the quantity can say what a run means:
//! "twelve eight" is 12.8 of volts, "one eighty five" is 185 of degrees, "fourteen fifteen" is 14 to 15 of knots.
//! So a run gives [`Candidate`]s, and whoever knows the quantity's plausible band picks among them.

mod atom;
mod general;
mod heard;
mod run;

pub use atom::{Atom, Form, atom_at, is_number_word};
pub use general::values;
pub(crate) use heard::mend;
pub use run::{Candidate, How, Run, runs};
