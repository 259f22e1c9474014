//! Generic fittings, component templates and a demo layout, as embedded RON text.
//!
//! Only text: reading it, and what it means, is the solver's. Thread sizes follow ISO 228-1; every other dimension
//! is a representative value made up for this project.

/// The built-in catalog: file name and text of each file, in the order in which they are read.
pub const SOURCES: &[(&str, &str)] = &[
    ("extensions.ron", include_str!("../data/extensions.ron")),
    ("joiners.ron", include_str!("../data/joiners.ron")),
    ("swivels.ron", include_str!("../data/swivels.ron")),
    ("bends-compact.ron", include_str!("../data/bends-compact.ron")),
    ("bends-long.ron", include_str!("../data/bends-long.ron")),
    ("other-sizes.ron", include_str!("../data/other-sizes.ron")),
    ("offsets.ron", include_str!("../data/offsets.ron")),
    ("links.ron", include_str!("../data/links.ron")),
    ("reducers.ron", include_str!("../data/reducers.ron")),
    ("bulkheads.ron", include_str!("../data/bulkheads.ron")),
    ("plugs.ron", include_str!("../data/plugs.ron")),
    ("tees.ron", include_str!("../data/tees.ron")),
    ("components.ron", include_str!("../data/components.ron")),
];

/// The demo layout: file name and text. A survey boat's sounding computer in a narrow case; one of its gaps is
/// bridged by nothing in the catalog.
pub const DEMO: (&str, &str) = ("survey-boat.ron", include_str!("../demo/survey-boat.ron"));
