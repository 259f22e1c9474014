//! What is wrong with a layout is said all at once, with line, column and remedy.

use elbowroom::{catalog::Catalog, layout::Layout};

const SMALL: &str = include_str!("../data/layout/small.ron");

#[test]
fn the_built_in_catalog_is_sound() {
    let catalog = Catalog::try_builtin().unwrap_or_else(|problems| panic!("{problems}"));
    assert!(catalog.fittings().len() >= 80, "{} fittings", catalog.fittings().len());
}

#[test]
fn the_small_layout_is_sound() {
    let layout = Layout::parse(SMALL, "small.ron", &Catalog::builtin()).unwrap_or_else(|problems| panic!("{problems}"));
    assert_eq!((layout.bodies().len(), layout.ports().len(), layout.gaps().len()), (5, 5, 2));
}
