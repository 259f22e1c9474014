//! Whatever the text, reading ends soon, never panics, and says what is wrong in a form that can be shown.

use elbowroom::catalog::Catalog;
use elbowroom::layout::Layout;
use elbowroom::source::{Problems, Source};
use proptest::prelude::*;
use std::hint::black_box;
use std::sync::LazyLock;
use std::time::{Duration, Instant};

const SMALL: &str = include_str!("../data/layout/small.ron");

static CATALOG: LazyLock<Catalog> = LazyLock::new(Catalog::builtin);

/// Pieces that mean something to a reader of RON or JSON, and some that should not.
const PIECES: &[&str] = &[
    "(",
    ")",
    "[",
    "]",
    "{",
    "}",
    ",",
    ":",
    "\"",
    "'",
    "\\",
    "//",
    "/*",
    "*/",
    "r#\"",
    "\"#",
    "#![enable(",
    "Some(",
    "None",
    "box(",
    "hull(",
    "name:",
    "\"name\":",
    "inf",
    "-inf",
    "NaN",
    "1e999",
    "-0.0",
    "1e-320",
    "99999999999999999999",
    "true",
    "null",
    "\u{0}",
    "\u{1b}[31m",
    "\u{202e}",
    "\u{feff}",
    "\r\n",
    "\t",
    "漢",
    "🛠",
    "e\u{301}",
    "b\"",
    "0x",
    "..",
    "_",
    "@",
];

/// What every problem must stand, whatever it is about.
fn check_problems(found: &Problems, texts: &[&str]) {
    assert!(!found.is_empty());
    for problem in found {
        assert!(!problem.message().is_empty() && !problem.message().contains('\n'), "{:?}", problem.message());
        let spot = problem.spot();
        if let Some(span) = spot.span() {
            assert!(texts.iter().any(|text| text.get(span.clone()).is_some()), "{span:?} is not in the text");
            let (line, column) = spot.line_and_column().expect("a span has a line");
            assert!(line >= 1 && column >= 1);
        }
        assert!(!problem.message().chars().any(char::is_control), "{:?}", problem.message());
    }
    assert!(found.render(true).contains("error") && !found.to_string().contains('\u{1b}'), "{found}");
}

/// Reads `text` as a layout and as a catalog.
fn check(text: &str, name: &str) {
    let source = Source::new(name, text);
    if let Err(found) = Layout::from_source(source.clone(), &CATALOG) {
        check_problems(&found, &[source.text()]);
    }
    if let Err(found) = Catalog::parse(std::slice::from_ref(&source)) {
        check_problems(&found, &[source.text()]);
    }
}

/// The texts that get damaged.
static SOUND_TEXTS: LazyLock<Vec<(String, &str)>> = LazyLock::new(|| {
    let options = ron::Options::default().with_default_extension(ron::extensions::Extensions::IMPLICIT_SOME);
    let file: elbowroom::layout::LayoutFile = options.from_str(SMALL).expect("the small layout is sound");
    let json = serde_json::to_string_pretty(&file).expect("plain data");
    let mut texts = vec![(SMALL.to_owned(), "small.ron"), (json, "small.json")];
    for (name, text) in elbowroom_catalog::SOURCES.iter().filter(|(_, text)| text.len() < 20_000) {
        texts.push(((*text).to_owned(), *name));
    }
    texts
});

/// One damage: where, how much goes, and what comes in its place.
type Damage = (prop::sample::Index, usize, Vec<prop::sample::Index>);

fn damages() -> impl Strategy<Value = Vec<Damage>> {
    let pieces = prop::collection::vec(any::<prop::sample::Index>(), 0..3);
    prop::collection::vec(
        (any::<prop::sample::Index>(), prop_oneof![Just(0_usize), 0..8_usize, 0..400_usize], pieces),
        1..5,
    )
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 600, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn damaged_files_are_refused_or_read(which in any::<prop::sample::Index>(), damages in damages()) {
        let (mut text, name) = which.get(&SOUND_TEXTS).clone();
        for (place, removed, pieces) in damages {
            let from = text.floor_char_boundary(place.index(text.len() + 1));
            let to = text.ceil_char_boundary((from + removed).min(text.len()));
            let pieces: String = pieces.iter().map(|piece| *piece.get(PIECES)).collect();
            text.replace_range(from..to, &pieces);
        }
        check(&text, name);
    }

    #[test]
    fn files_cut_short_are_refused(which in any::<prop::sample::Index>(), cut in any::<prop::sample::Index>()) {
        let (text, name) = which.get(&SOUND_TEXTS);
        check(&text[..text.floor_char_boundary(cut.index(text.len()))], name);
    }

    #[test]
    fn piles_of_pieces_are_refused(pieces in prop::collection::vec(any::<prop::sample::Index>(), 0..40), json in any::<bool>()) {
        let text: String = pieces.iter().map(|piece| *piece.get(PIECES)).collect();
        check(&text, if json { "pile.json" } else { "pile.ron" });
    }

    #[test]
    fn any_bytes_are_refused(bytes in prop::collection::vec(any::<u8>(), 0..200)) {
        match Source::from_reader("bytes", bytes.as_slice()) {
            Ok(source) => check(source.text(), "bytes"),
            Err(found) => {
                let text = String::from_utf8_lossy(&bytes);
                check_problems(&found, &[text.strip_prefix('\u{feff}').unwrap_or(&text)]);
                prop_assert!(found.iter().all(|problem| problem.spot().line_and_column().is_some()), "{found}");
            }
        }
    }

    #[test]
    fn any_numbers_are_refused_or_read(numbers in prop::collection::vec(any::<f64>(), 12)) {
        let mut numbers = numbers.into_iter().map(|number| format!("{number:?}"));
        let mut next = move || numbers.next().unwrap_or_default();
        let text = SMALL
            .replace("(60, 60, 40)", &format!("({}, {}, {})", next(), next(), next()))
            .replace("thickness: 2", &format!("thickness: {}", next()))
            .replace("at: (60, 40), diameter: 20", &format!("at: ({}, {}), diameter: {}", next(), next(), next()))
            .replace("(20, 20, 60)]", &format!("({}, {}, {})]", next(), next(), next()));
        check(&text, "numbers.ron");
    }
}

/// Carriage returns alone end no line, but are cut off where a line is shown.
#[test]
fn carriage_returns_alone_are_shown() {
    for text in ["{\r\r\n", "{\r\r", "\r", "(\r", "(version: 1,\r\r", "\r\r]\r"] {
        check(text, "returns.ron");
        check(text, "returns.json");
    }
}

/// Reading ends soon, with texts of 1 and of [`LONGER`] pieces of some length.
fn check_soon(name: &str, text: impl Fn(usize) -> String) {
    let [short, long] = [text(1), text(LONGER)];
    if let Some([times, once]) = grows_too_fast(|text| check(text, name), &short, &long) {
        panic!("{name}: {} bytes {LONGER} times took {times:?}, {} bytes {once:?}", short.len(), long.len());
    }
}

/// The time that reading takes grows in step with the text: a long one takes as long as a short one many times. That is
/// asked of the growth, since any number of seconds is too short on some machine and too long on another. If it does not,
/// both times.
fn grows_too_fast(read: impl Fn(&str), short: &str, long: &str) -> Option<[Duration; 2]> {
    let mut least = [Duration::MAX; 2];
    // What else the machine does can only add to a time.
    for _ in 0..5 {
        for (least, (text, times)) in least.iter_mut().zip([(short, LONGER), (long, 1)]) {
            let before = spent();
            (0..times).for_each(|_| read(text));
            *least = (*least).min(spent().saturating_sub(before));
        }
        if least[1] < AT_ONCE || least[1] < least[0] * MOST_GROWTH {
            return None;
        }
    }
    Some(least)
}

/// How many times as long as the short text the long one is.
const LONGER: usize = 32;

/// How much longer the long text may take than the short one as many times as it is longer: long texts are read from
/// slower memory. With its square it would take 32 times as long.
const MOST_GROWTH: u32 = 8;

/// Times too short to compare. With its square a text of 100,000 pieces would take far longer on any machine.
const AT_ONCE: Duration = Duration::from_millis(50);

/// What this thread has spent of the processor's time where the system tells it, which other programs do not add to; the
/// time on the clock elsewhere.
fn spent() -> Duration {
    static START: LazyLock<Instant> = LazyLock::new(Instant::now);
    let told = std::fs::read_to_string("/proc/thread-self/schedstat").ok();
    let nanoseconds = told.and_then(|told| told.split_whitespace().next()?.parse().ok());
    nanoseconds.map_or_else(|| START.elapsed(), Duration::from_nanos)
}

/// Or the bound on growth would prove nothing.
#[test]
fn growth_with_the_square_is_seen() {
    let [short, long] = [1, LONGER].map(|share| "x".repeat(600 * share));
    // Every byte, and before each of them all others once more.
    let step = |from: usize, byte: u8| black_box(from + usize::from(byte));
    let once = |text: &str| text.bytes().fold(0, step);
    let squared = |text: &str| {
        (0..text.len()).for_each(|to| {
            once(&text[..to]);
        });
    };
    assert!(grows_too_fast(squared, &short, &long).is_some());
    let in_step = |text: &str| {
        (0..5_000).for_each(|_| {
            once(text);
        });
    };
    assert_eq!(grows_too_fast(in_step, &short, &long), None);
}

#[test]
fn deep_nesting_neither_overflows_nor_takes_long() {
    for (open, close) in [("(", ")"), ("[", "]"), ("Some(", ")"), ("{\"a\":", "}"), ("(panels: [", "])"), ("/*", "*/")]
    {
        let closed = |share: usize| format!("{}{}", open.repeat(3_125 * share), close.repeat(3_125 * share));
        check_soon("open.ron", |share| open.repeat(3_125 * share));
        check_soon("closed.ron", closed);
        check_soon("in.ron", |share| format!("(version: 1, name: \"x\", panels: [{}])", closed(share)));
        check_soon("closed.json", closed);
    }
}

#[test]
fn long_files_full_of_faults_do_not_take_long() {
    // The small layout with a piece of it followed by many others, or by another in its place.
    let more = |name, place: &'static str, piece: &'static str, count: usize| {
        check_soon(name, |share| SMALL.replace(place, &format!("{place}{}", piece.repeat(count * share))));
    };
    more("gaps.ron", "gaps: [", "(from: \"pmup.outlet\", to: \"tank.inlt\"),", 200);
    more("components.ron", "components: [", "(name: \"a\", template: \"extension-g41-99\", at: (0, 0, 1e99)),", 200);
    more("unknown.ron", "components: [", "(nmae: 3),", 3_125);
    more("holes.ron", "holes: [", "(at: (0, 0), diameter: 5),", 3_125);
    more("points.ron", "points: [", "(0, 0, 0),", 9_375);
    let sieve: String =
        (0..200).map(|hole| format!("(at: ({}, {}), diameter: 4),", hole % 20 * 5, hole / 20 * 5)).collect();
    let sieves =
        format!("(name: \"a\", at: (0, 0, 0), facing: \"+z\", size: (300, 300), thickness: 2, holes: [{sieve}]),");
    check_soon("sieves.ron", |share| SMALL.replace("panels: [", &format!("panels: [{}", sieves.repeat(4 * share))));
    let long = |share: usize| "x".repeat(125_000 * share);
    let other = |name, place: &'static str, [before, after]: [&'static str; 2]| {
        check_soon(name, |share| SMALL.replace(place, &format!("{before}{}{after}", long(share))));
    };
    other("name.ron", "name: \"pump\"", ["name: \"", "\""]);
    other("template.ron", "template: \"plug-g14\"", ["template: \"", "\""]);
    other("port.ron", "\"tank.outlet\"", ["\"tank.", "\""]);
    other("field.ron", "clearance_mm", ["", ""]);
    check_soon("facing.ron", |share| {
        SMALL.replace("facing: \"+x\"", &format!("facing: \"{}\"", "1 ".repeat(31_250 * share)))
    });
    check(&SMALL.replace('\n', ""), "line.ron");
}

/// No fault is told in the words of a library: of its types, its names for kinds of values, or its advice.
#[test]
fn no_message_shows_how_files_are_read() {
    let values = [
        "2,5", "2mm", "'x'", "5", "-1", "0x1F", "1_0", "_1", "()", "(1)", "[1]", "{}", "a", "\"a\"", "b\"a\"", "None",
        "Some(1)",
    ];
    let fields = [
        "1,",
        "thickness: 2",
        "gender",
        "[(-60, 40)",
        "box(size",
        "facing: \"+z\"",
        "\"tank.inlet\"",
        "true",
        "front",
        "(",
    ];
    for field in fields {
        for value in values {
            let text = SMALL.replacen(field, value, 1);
            let Err(found) = Layout::parse(&text, "small.ron", &CATALOG) else { continue };
            let shown = found.to_string().to_lowercase();
            for word in [
                "identifier",
                "layoutfile",
                "def`",
                "enum",
                "struct",
                "variant",
                "serde",
                "invalid",
                "std ",
                "unit value",
            ] {
                assert!(!shown.contains(word), "{word:?} in:\n{found}");
            }
        }
    }
}

/// Bytes that are no text are shown where they are.
#[test]
fn bytes_that_are_no_text_have_a_line_and_a_column() {
    for (bytes, spot, message) in [
        (&b"(version: 1,\n  name: \"T\xe4st\")"[..], (2, 11), "found the byte 0xE4"),
        (&b"\xef\xbb\xbf(a: \"\xc3\xa4\xff\")"[..], (1, 7), "found the byte 0xFF"),
        (&b"\xff\xfe(\0a\0"[..], (1, 1), "found UTF-16"),
        (&b"(\0\x01\xfe\x02"[..], (1, 4), "found other data"),
    ] {
        let found = Source::from_reader("bytes.ron", bytes).expect_err("no text");
        let [problem] = &found.iter().collect::<Vec<_>>()[..] else { panic!("{found}") };
        assert_eq!(problem.spot().line_and_column(), Some(spot), "{found}");
        assert!(problem.message().contains(message), "{found}");
    }
}
