//! Shared oracles of the cross-crate tests.

pub mod ask;
pub mod brute;
pub mod chain;
pub mod circuits;
pub mod frame;
pub mod fuzzing;
pub mod parts;
pub mod plant;
pub mod rules;
pub mod solids;
pub mod table;
pub mod verify;
