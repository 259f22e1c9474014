//! Shared oracles of the cross-crate tests.

pub mod adversary;
pub mod ask;
pub mod brute;
pub mod chain;
pub mod circuits;
pub mod crowd;
pub mod frame;
pub mod fuzzing;
pub mod invent;
pub mod judge;
pub mod parts;
pub mod plant;
pub mod postures;
pub mod rules;
pub mod slot;
pub mod solids;
pub mod swinging;
pub mod table;
pub mod verify;
