use super::Index;
use std::fmt::Write as _;

/// The text that the index gives for a place, if it knows exactly that place.
fn text_at<'a>(text: &'a str, place: &str) -> Option<&'a str> {
    let index = Index::new(text);
    let (item, exact) = index.find(place)?;
    text.get(index.value(item)).filter(|_| exact)
}

fn check(text: &str, place: &str, expected: &str) {
    assert_eq!(text_at(text, place), Some(expected), "{place} in {text}");
    let index = Index::new(text);
    assert!(index.is_sound(), "{text}");
    let (item, _) = index.find(place).unwrap_or_else(|| panic!("{place} was found before"));
    // The way back: from a byte of the value to the item, and from the item to the place.
    let found = index.at_offset(index.value(item).start).map(|found| index.place(found));
    assert!(found.is_some_and(|found| found.starts_with(place)), "{place} in {text}");
}

#[test]
fn ron_places_lead_to_their_text() {
    check("(a: 1, b: (2, 3))", "b[1]", "3");
    check("(a: 1, b: (2, 3),)", "b", "(2, 3)");
    check("Layout(list: [(x: -1.5e3), (x: +2.)])", "list[1].x", "+2.");
    check("(shape: box(size: (1, 2, 3)))", "shape.box.size[2]", "3");
    check("(shape: box(size: (1, 2, 3)))", "shape", "box(size: (1, 2, 3))");
    check("[free((shape: sphere(diameter: 3)))]", "[0].free.shape.sphere.diameter", "3");
    check("(to: Some(4), from: Some((1, 2)))", "from[1]", "2");
    check("(to: Some(Some(4)))", "to", "Some(Some(4))");
    check("(pair: two(7, 8))", "pair.two[1]", "8");
    check("(kind: male, n: None)", "kind", "male");
    check("(r#type: \"x\")", "type", "\"x\"");
    check("{\"a\": {\"b\": [1]}}", "a.b[0]", "1");
    check("#![enable(implicit_some)]\n#![enable(unwrap_newtypes)]\n(a: 1)", "a", "1");
}

#[test]
fn comments_and_strings_hide_marks() {
    check("(/* [ /* ( */ */ a: 1, // ) b: 2\n b: 3)", "b", "3");
    check(r#"(a: "( \" [", b: 2)"#, "b", "2");
    check(r##"(a: r#"" ) "#, b: 2)"##, "b", "2");
    check(r#"(a: b"\"(", b: '"', c: '\'', d: ''', e: 5)"#, "e", "5");
    check("(a: \"x // y /* z\", b: 2)", "b", "2");
    check("(name: \"äöü 漢字\", b: 2 /* ü */ )", "b", "2");
}

#[test]
fn a_place_left_out_leads_to_what_is_around_it() {
    let text = "(a: (b: 1), c: 2)";
    let index = Index::new(text);
    let around = |place: &str| index.find(place).map(|(item, exact)| (&text[index.value(item)], exact));
    assert_eq!(around("a.x"), Some(("(b: 1)", false)));
    assert_eq!(around("a.b"), Some(("1", true)));
    assert_eq!(around("c[3]"), Some(("2", false)));
    assert_eq!(around("z"), Some((text, false)));
}

#[test]
fn unsound_text_is_noticed_and_survived() {
    for text in
        ["(a: 1", "(a: 1]", "a: 1)", "(a: \"x)", "(a: r#\"x\")", "(/* a: 1)", "())", ":", "(: 1)", "'", "b'", "\"\\"]
    {
        let index = Index::new(text);
        assert!(!index.is_sound(), "{text}");
        let _ = (index.find("a[0].b"), index.at_offset(1).map(|item| index.place(item)));
    }
    assert!(Index::new("").find("a").is_none());
}

/// Nesting costs no stack, and no more time than length does.
#[test]
fn deep_nesting_is_survived() {
    let depth = 200_000;
    let text = format!("{}{}", "[(".repeat(depth), ")]".repeat(depth));
    let index = Index::new(&text);
    assert!(index.is_sound());
    let deepest = index.at_offset(2 * depth - 1).map(|item| index.value(item));
    assert_eq!(deepest, Some(2 * depth - 1..2 * depth + 1));
}

/// Writes random documents together with where everything is, and asks the index.
#[test]
fn random_documents_are_indexed_as_they_were_written() {
    for seed in 0..2_000 {
        let mut writer = Writer::new(seed);
        writer.value(String::new(), 0);
        writer.blank();
        let Writer { text, truth, json, .. } = writer;
        if json {
            serde_json::from_str::<serde_json::Value>(&text).unwrap_or_else(|error| panic!("{error} in {text}"));
        } else {
            ron::from_str::<ron::Value>(&text).unwrap_or_else(|error| panic!("{error} in {text}"));
        }
        let index = Index::new(&text);
        assert!(index.is_sound(), "{text}");
        for (place, range) in truth {
            let found = index.find(&place).map(|(item, exact)| (index.value(item), exact));
            assert_eq!(found, Some((range.clone(), true)), "seed {seed}: {place} in {text}");
            let (item, _) = index.find(&place).unwrap_or_else(|| panic!("just found"));
            let back = index.place(item);
            let again = index.find(&back).map(|(item, _)| index.value(item));
            assert_eq!(again, Some(range), "seed {seed}: {place} came back as {back} in {text}");
        }
    }
}

/// A random document under way, RON or JSON.
struct Writer {
    text: String,
    truth: Vec<(String, std::ops::Range<usize>)>,
    json: bool,
    state: u64,
}

impl Writer {
    fn new(seed: u64) -> Self {
        Self { text: String::new(), truth: Vec::new(), json: seed.is_multiple_of(2), state: seed }
    }

    /// The generator splitmix64 (Steele, Lea and Flood 2014), good enough to shuffle choices.
    fn choose(&mut self, choices: u64) -> u64 {
        self.state = self.state.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut mixed = self.state;
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        (mixed ^ (mixed >> 31)) % choices
    }

    fn blank(&mut self) {
        let choices = if self.json { 4 } else { 8 };
        let blank = match self.choose(choices) {
            0 => " ",
            1 => "\n\t",
            4 => " // ) ] } \" ' :\n",
            5 => "/* ( [ { /* \" */ , : */",
            6 => "\r\n",
            _ => "",
        };
        self.text.push_str(blank);
    }

    fn leaf(&mut self) {
        let ron = ["-1.5", "true", "0x1F", "'('", "'\\''", "r#\"a\" ( \"#", "b\"[\\\"\"", "\"( \\\" , :\"", "\"ü漢\""];
        let json = ["-1.5", "true", "1e3", "null", "\"( \\\" , :\"", "\"\\\\\"", "\"// ü漢\""];
        let leaves: &[&str] = if self.json { &json } else { &ron };
        let chosen = self.choose(leaves.len() as u64) as usize;
        self.text.push_str(leaves[chosen]);
    }

    fn value(&mut self, place: String, depth: usize) {
        self.blank();
        let start = self.text.len();
        match if depth > 4 { 0 } else { self.choose(6) } {
            0 => self.leaf(),
            1 => self.elements(&place, depth, "[", "]"),
            2 if self.json => self.elements(&place, depth, "[", "]"),
            2 => self.elements(&place, depth, "(", ")"),
            3 if !self.json => {
                let tag = ["Some", "Struct"][self.choose(2) as usize];
                let _ = write!(self.text, "{tag}(");
                if tag == "Some" {
                    self.value(place.clone(), depth + 1);
                    // The value inside has the same place; the outer one is what the place leads to.
                    self.truth.retain(|(other, _)| *other != place);
                } else {
                    self.fields(&place, depth);
                }
                self.text.push(')');
            }
            _ if self.json => {
                self.text.push('{');
                self.fields(&place, depth);
                self.text.push('}');
            }
            _ => {
                self.text.push('(');
                self.fields(&place, depth);
                self.text.push(')');
            }
        }
        self.truth.push((place, start..self.text.len()));
        self.blank();
    }

    fn elements(&mut self, place: &str, depth: usize, open: &str, close: &str) {
        self.text.push_str(open);
        let count = self.choose(4) as usize;
        for index in 0..count {
            self.value(format!("{place}[{index}]"), depth + 1);
            self.comma(index + 1 < count);
        }
        self.text.push_str(close);
    }

    fn fields(&mut self, place: &str, depth: usize) {
        let count = 1 + self.choose(3) as usize;
        for index in 0..count {
            self.blank();
            let name = format!("f{index}");
            let key = if self.json { format!("\"{name}\"") } else { name.clone() };
            self.text.push_str(&key);
            self.blank();
            self.text.push(':');
            let inner = if place.is_empty() { name } else { format!("{place}.{name}") };
            self.value(inner, depth + 1);
            self.comma(index + 1 < count);
        }
    }

    fn comma(&mut self, more: bool) {
        if more || (!self.json && self.choose(2) == 0) {
            self.text.push(',');
            self.blank();
        }
    }
}
