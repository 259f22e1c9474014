//! Shared oracles of the cross-crate tests.
