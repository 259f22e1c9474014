//! Finds the fittings that join two tightly spaced ports, shows that they fit, and proves it when nothing fits.
//!
//! The built-in demo is a survey boat's computer in a narrow case. Its reservoir stands beside the pump, with the two
//! ports at a right angle:
//!
//! ```
//! use elbowroom::{
//!     bridge::{Completeness, Wishes, bridge},
//!     catalog::Catalog,
//!     layout::Layout,
//! };
//!
//! let catalog = Catalog::builtin();
//! let (name, text) = elbowroom_catalog::DEMO;
//! let layout = Layout::parse(text, name, &catalog)?;
//!
//! let gap = layout.gap("reservoir.outlet", "pump.inlet")?;
//! let answer = bridge(&catalog, &layout, &gap, &Wishes { max_parts: 4, want: 1, ..Wishes::default() })?;
//!
//! let best = &answer.chains[0];
//! for part in &best.parts {
//!     println!("{}, turned {:?}", part.fitting, part.turn_deg);
//! }
//! assert!(best.residual_mm <= layout.allowances().closure_mm);
//! assert_eq!(answer.completeness, Completeness::BestProven { parts: best.parts.len() });
//!
//! // The probe ended up too close to the radiator. That nothing joins them is an answer too, not an error.
//! let gap = layout.gap("probe.outlet", "radiator-a.inlet")?;
//! let answer = bridge(&catalog, &layout, &gap, &Wishes { max_parts: 3, ..Wishes::default() })?;
//! assert!(answer.chains.is_empty());
//! assert_eq!(answer.completeness, Completeness::Complete { parts: 3 });
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```
//!
//! Lengths are millimetres, angles degrees in files and answers and radians inside, flow L/min and pressure kPa at the
//! edges and SI inside [`hydraulics`]. Frames are right-handed; a layout's `z` points up.
//!
//! What is not here: nothing prints, asks for the time or keeps state between calls, and nothing panics on what a user
//! wrote. Files are read only by the functions that take a path. The command-line program is behind the feature `cli`,
//! searching on all cores behind `parallel`; answers are the same without it.
//!
//! How to use the program stands in the [`guide`]. How the code is laid out, and why, stands in `DEVELOPERS.md` at the top of the repository.

pub mod bridge;
pub mod catalog;
pub mod circuit;
pub mod geometry;
pub mod guide;
pub mod hydraulics;
pub mod interference;
pub mod layout;
pub mod plan;
pub mod report;
pub mod source;
pub mod survey;
