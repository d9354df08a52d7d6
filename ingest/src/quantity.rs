//! Quantities and units: which ones there are, how they are said, and which one a number belongs to.
