//! The text that layouts and catalogs are read from, and what is wrong with it.
//!
//! A file is read in two steps. First its text becomes plain data (`read`); then the data is checked for sense by
//! the module that knows what it means, which names a faulty item by its `Place`. Both steps go on after a fault, so
//! that [`Problems`] holds everything that is wrong with the file, each with its line and column.

mod cause;
mod checker;
mod fault;
pub(crate) mod index;
mod later;
mod nearest;
mod patch;
mod place;
mod problem;
mod read;
mod repair;
mod sample;
mod scan;
mod text;
mod translate;

pub(crate) use checker::{Checker, number};
pub(crate) use nearest::{brief, nearest, one_of};
pub(crate) use place::Place;
pub use problem::{Problem, Problems, Spot};
pub(crate) use read::{Document, Reading, read};
pub use text::{LARGEST_SOURCE_BYTES, Source};
