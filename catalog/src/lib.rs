//! Generic fittings.
