//! What is wrong with a catalog is said with line, column and remedy.
//!
//! Each case breaks the small catalog of `data/catalog/small.ron` in one place. The mark `¦` in the replacement stands
//! where the problem must be reported; it is taken out before reading.

use elbowroom::catalog::{Catalog, CatalogFile};
use elbowroom::layout::Layout;
use elbowroom::source::Source;

const SMALL: &str = include_str!("../data/catalog/small.ron");

/// What is replaced, by what, what the message says, and what the remedy says.
type Case = (&'static str, &'static str, &'static str, &'static str);

#[rustfmt::skip]
const CASES: &[Case] = &[
    ("version: 1", "version: ¦0", "expected `version` 1, found 0", "reads version 1"),
    ("id: \"elbow\"", "id: ¦\"Elbow\"", "an id of lower-case letters and digits joined by `-`, found \"Elbow\"", "write it like"),
    ("id: \"elbow\"", "id: ¦\"el--bow\"", "an id of lower-case letters", "write it like"),
    ("id: \"tee\"", "id: ¦\"elbow\"", "id `elbow` is defined twice", "rename one"),
    ("id: \"cell\"", "id: ¦\"elbow\"", "id `elbow` is defined twice", "rename one"),
    ("name: \"Elbow\"", "name: ¦\" \"", "a descriptive name, found \" \"", "blanks"),
    ("family: bend", "family: ¦bnd", "expected `extension`", "did you mean `bend`?"),
    ("family: bend", "family: extension", "expected no bend in a straight family", "choose the family"),
    // Centreline.
    ("legs: [12, 10]", "legs: ¦[12]", "one leg more than there are bends (2), found 1", "seat to first bend"),
    ("legs: [12, 10]", "legs: [12, ¦0]", "the length of a leg in mm from 0.001 to 10000, found 0", "correct"),
    ("legs: [12, 10]", "legs: [12, ¦NaN]", "the length of a leg", "correct"),
    ("angle_deg: 90)]", "angle_deg: ¦0)]", "a bend in degrees from 1 to 170, found 0", "correct"),
    ("angle_deg: 90)]", "angle_deg: ¦171)]", "a bend in degrees from 1 to 170, found 171", "correct"),
    ("angle_deg: 90)]", "angle_deg: 90, roll_deg: ¦361)]", "a roll in degrees", "correct"),
    ("stretch_mm: 8", "stretch_mm: ¦-8", "an adjustable length in mm", "correct"),
    ("stretch_mm: 8,", "", "expected `stretch_mm` of a link, found none", "a link is adjustable"),
    // Ends.
    ("thread_length_mm: 4.5, swivel: true", "thread_length_mm: ¦0, swivel: true", "a thread length in mm", "correct"),
    ("swivel: true, collar_mm: 16", "swivel: true, collar_mm: ¦13.157", "a collar wider than the G 1/4 thread (13.157 mm), found 13.157", "flat face"),
    ("bore_mm: 9, price: 4", "bore_mm: ¦11.5, price: 4", "a bore narrower than the root of the male G 1/4 thread of end 0 (11.445 mm), found 11.5", "smallest bore"),
    ("bore_mm: 9, price: 4", "bore_mm: 9, price: ¦-4", "a price from 0", "correct"),
    // Families.
    ("(thread: \"G 1/4\", gender: female, thread_length_mm: 6, collar_mm: 16), // third", "", "expected 3 ends of a part of this family, found 2", "a tee three"),
    ("branch: (at: 15, leg: 14, angle_deg: 90),", "", "expected the `branch` of a tee, found none", "only a tee"),
    ("branch: (at: 15,", "branch: (at: ¦31,", "a place along leg 0 in mm from 0 to 30, found 31", "correct"),
    ("branch: (at: 15, leg: 14,", "branch: (at: 15, leg: ¦0,", "the length of the branch", "correct"),
    // Body.
    ("sleeve(leg: 0, to: 4, diameter: 16)", "sleeve(leg: ¦2, to: 4, diameter: 16)", "expected one of 2 legs counted from 0, found 2", "a leg of this part"),
    ("sleeve(leg: 0, to: 4, diameter: 16)", "sleeve(leg: 0, from: 5, to: ¦13, diameter: 16)", "a place along leg 0 in mm", "correct"),
    ("sleeve(leg: 0, to: 4, diameter: 16)", "sleeve(leg: 0, from: ¦-1, to: 4, diameter: 16)", "a place along leg 0 in mm from 0 to 12, found -1", "correct"),
    ("sleeve(leg: 0, to: 4, diameter: 16)", "¦sleeve(leg: 0, from: 4, to: 4, diameter: 16)", "a sleeve that ends beyond its start at 4 mm, found 4", "start of the leg"),
    ("sleeve(leg: 0, to: 4, diameter: 16)", "sleeve(leg: 0, to: 4, diameter: ¦9)", "a diameter above the bore (9 mm), found 9", "outside diameter"),
    ("sleeve(leg: 0, to: 4, diameter: 16)", "sleeve(leg: ¦-1, to: 4, diameter: 16)", "a whole number, not negative", ""),
    ("knuckle(bend: 0, diameter: 17)", "knuckle(bend: ¦1, diameter: 17)", "expected one of 1 bends counted from 0, found 1", "a bend of this part"),
    ("knuckle(bend: 0, diameter: 17)", "¦knukle(bend: 0, diameter: 17)", "expected `sleeve`, `knuckle` or `free`, found `knukle`", "did you mean `knuckle`?"),
    ("knuckle(bend: 0, diameter: 17)", "¦knuckle(bend: 0, diameter: 21)", "nothing in front of the sealing face of end 1", "leg longer"),
    ("sphere(diameter: 30)", "sphere(diameter: ¦inf)", "a diameter in mm", "correct"),
    ("solids: [(shape: sphere(diameter: 30))]", "solids: ¦[]", "expected at least one solid, found none", "add the body"),
    ("free((shape: box(size: (4, 4, 4)), at: (0, 0, 6)))", "free((shape: box(size: (4, 4, 4)), at: (0, ¦20000, 6)))", "a coordinate in mm", "correct"),
    ("name: \"terminal\"", "name: ¦\"a b\"", "a port name", "write it like"),
];

fn unmarked(text: &str) -> (String, Option<(usize, usize)>) {
    let spot = text.split_once('¦').map(|(before, _)| {
        (before.split('\n').count(), before.split('\n').next_back().map_or(0, |line| line.chars().count()) + 1)
    });
    (text.replace('¦', ""), spot)
}

#[test]
fn the_built_in_catalog_is_sound() {
    let catalog = Catalog::try_builtin().unwrap_or_else(|problems| panic!("{problems}"));
    assert!(catalog.fittings().len() >= 80, "{} fittings", catalog.fittings().len());
    assert_eq!(catalog, Catalog::builtin());
}

/// Every built-in part can stand in a layout: its solids can be built and none of its ports is covered by them.
#[test]
fn every_built_in_part_can_be_placed() {
    let catalog = Catalog::builtin();
    let placed: String = (0..)
        .zip(catalog.ids())
        .map(|(index, id)| format!("(name: \"part {index}\", template: \"{id}\", at: (0, 0, 0), front: \"+x\"),"))
        .collect();
    let text = format!("(version: 1, name: \"Stock\", components: [{placed}])");
    let layout = Layout::parse(&text, "stock.ron", &catalog).unwrap_or_else(|problems| panic!("{problems}"));
    assert_eq!(layout.bodies().len(), catalog.ids().count());
    let ends: usize = catalog.fittings().iter().map(|fitting| fitting.ends.len()).sum();
    let ports: usize = catalog.components().iter().map(|component| component.ports.len()).sum();
    assert_eq!(layout.ports().len(), ends + ports);
}

#[test]
fn the_small_catalog_is_sound() {
    let catalog = Catalog::parse(&[Source::new("small.ron", SMALL)]).unwrap_or_else(|problems| panic!("{problems}"));
    assert_eq!(catalog.ids().collect::<Vec<_>>(), ["elbow", "tee", "slide", "cell"]);
    assert!(catalog.fitting("cell").is_none() && catalog.component("cell").is_some());
    let options = ron::Options::default().with_default_extension(ron::extensions::Extensions::IMPLICIT_SOME);
    let file: CatalogFile = options.from_str(SMALL).expect("just read");
    let again = Catalog::parse(&[Source::new("small.json", serde_json::to_string(&file).expect("plain data"))]);
    assert_eq!(again.unwrap_or_else(|problems| panic!("{problems}")), catalog);
    assert_eq!(Catalog::from_parts(file.fittings, file.components).ok(), Some(catalog));
}

#[test]
fn every_wrong_value_is_shown_with_its_remedy() {
    let mut wrong = Vec::new();
    for (from, to, message, remedy) in CASES {
        assert_eq!(SMALL.matches(from).count(), 1, "{from:?} is meant to stand once in the file");
        let (text, spot) = unmarked(&SMALL.replace(from, to));
        let Err(found) = Catalog::parse(&[Source::new("small.ron", text)]) else {
            wrong.push(format!("{to}: taken for sound"));
            continue;
        };
        let good = found.len() == 1
            && found.iter().all(|problem| {
                problem.message().contains(message)
                    && problem.remedy().unwrap_or_default().contains(remedy)
                    // Without a mark the problem is about something that is not there.
                    && spot.is_none_or(|spot| problem.spot().line_and_column() == Some(spot))
            });
        if !good {
            wrong.push(format!("{to} should give {message:?} ({remedy:?}) at {spot:?}:\n{found}"));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n\n"));
}

/// Every fault of a part is told, whatever is unreadable beside it, and none that only follows from another.
#[test]
fn an_unreadable_value_hides_no_other_fault() {
    let changes = [
        ("version: 1", "version: ¦9"),
        ("family: bend", "family: ¦bendy"),
        ("legs: [12, 10]", "legs: ¦[12]"),
        ("angle_deg: 90)]", "angle_deg: ¦270)]"),
        ("swivel: true, collar_mm: 16", "swivel: ¦1, collar_mm: ¦\"16\""),
        ("sleeve(leg: 0, to: 4, diameter: 16)", "sleeve(leg: ¦7, to: ¦true, diameter: ¦-16)"),
        ("knuckle(bend: 0, diameter: 17)", "¦knukle(bend: ¦3, diameter: 17)"),
        ("bore_mm: 9, price: 4", "bore_mm: ¦-8.5, ¦prise: ¦-4"),
        ("branch: (at: 15,", "branch: (at: ¦(), ¦lag: 3,"),
        ("id: \"cell\"", "id: ¦cell"),
        ("sphere(diameter: 30)", "¦sphere(¦radius: \"30\")"),
        ("name: \"terminal\"", "name: ¦\"a b\""),
    ];
    let mut text = SMALL.to_owned();
    for (from, to) in changes {
        assert_eq!(SMALL.matches(from).count(), 1, "{from:?} is meant to stand once in the file");
        text = text.replace(from, to);
    }
    let mut spots = Vec::new();
    while let (_, Some(spot)) = unmarked(&text) {
        spots.push(spot);
        text = text.replacen('¦', "", 1);
    }
    let found = Catalog::parse(&[Source::new("small.ron", text)]).expect_err("many things are wrong");
    let places: Vec<_> = found.iter().filter_map(|problem| problem.spot().line_and_column()).collect();
    assert_eq!(places, spots, "{found}");
}
