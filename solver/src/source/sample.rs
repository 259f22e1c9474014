//! What a value of a file type may look like, found out by asking the type itself.
//!
//! Where a file holds something else than its type wants, a valid stand-in takes its place so that reading goes on. The
//! types say what they want in no other way than by reading, so they are given a reader that notes what is asked of it
//! and answers with the plainest value there is.

use super::place::{Step, steps};
use super::text::Format;
use serde::de::value::{Error as Refusal, StrDeserializer};
use serde::de::{
    DeserializeOwned, DeserializeSeed, Deserializer, EnumAccess, Error, IntoDeserializer, MapAccess, SeqAccess,
    VariantAccess, Visitor,
};
use serde::forward_to_deserialize_any;
use std::fmt::Write as _;

/// Texts to try where one is wanted: for any text, then for the kinds of text that are read on.
const TEXTS: [&str; 3] = ["x", "+x", "G 1/4"];

/// What a type wants at a place.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Wanted {
    Number,
    Whole,
    Text,
    Flag,
    List,
    /// So many values of a kind.
    Values(usize),
    Fields,
    /// One of these names, with or without something in it.
    Choice(&'static [&'static str]),
}

/// What is wanted at a place, and a value that will do.
#[derive(Debug, PartialEq, Eq)]
pub(super) struct Sample {
    pub(super) wanted: Wanted,
    pub(super) text: String,
}

/// What `T` wants at `place`, if it has such a place.
pub(super) fn sample<T: DeserializeOwned>(place: &str, format: Format) -> Option<Sample> {
    let way: Vec<Step<'_>> = steps(place).collect();
    let mut choices = Vec::new();
    // A text that was refused ends the answer, so the last one written is the one to try another for. Each turn moves
    // one choice on, and there are far fewer texts in a file type than would make this long.
    loop {
        let mut answer = Answer { format, text: String::new(), wanted: None, choices, texts: 0, sound: false };
        let read = T::deserialize(Asked { way: &way, answer: &mut answer });
        answer.sound |= way.is_empty() && read.is_ok();
        if answer.sound {
            return answer.wanted.map(|wanted| Sample { wanted, text: answer.text });
        }
        choices = answer.choices;
        let last = choices.get_mut(answer.texts.checked_sub(1)?)?;
        *last += 1;
        if *last >= TEXTS.len() {
            return None;
        }
    }
}

/// What was found out and written so far.
struct Answer {
    format: Format,
    text: String,
    /// What stands at the place asked for; until that is reached, nothing is written.
    wanted: Option<Wanted>,
    /// Which of [`TEXTS`] to write, text by text.
    choices: Vec<usize>,
    texts: usize,
    /// Whether the type took what was written.
    sound: bool,
}

impl Answer {
    fn write(&mut self, wanted: Wanted, text: &str) {
        self.wanted.get_or_insert(wanted);
        self.text.push_str(text);
    }

    /// The marks around values in a row, and around fields.
    fn marks(&self, fields: bool) -> [&'static str; 2] {
        match (self.format, fields) {
            (Format::Ron, _) => ["(", ")"],
            (Format::Json, false) => ["[", "]"],
            (Format::Json, true) => ["{", "}"],
        }
    }

    /// A name in front of a value.
    fn key(&mut self, name: &str) {
        // Writing to a `String` cannot fail.
        let _ = match self.format {
            Format::Ron => write!(self.text, "{name}: "),
            Format::Json => write!(self.text, "\"{name}\": "),
        };
    }
}

/// A reader that has come `way` short of the place asked for, or is there.
struct Asked<'a> {
    way: &'a [Step<'a>],
    answer: &'a mut Answer,
}

impl<'a> Asked<'a> {
    fn is_there(&self) -> Result<(), Refusal> {
        if self.way.is_empty() { Ok(()) } else { Err(nothing()) }
    }

    /// Lets a type read one step further on.
    fn read<'de, S: DeserializeSeed<'de>>(&mut self, way: &[Step<'_>], seed: S) -> Result<S::Value, Refusal> {
        let arrives = way.is_empty() && self.answer.wanted.is_none();
        let read = seed.deserialize(Asked { way, answer: self.answer })?;
        self.answer.sound |= arrives;
        Ok(read)
    }

    /// Fields of a struct or of a variant: the one on the way, or all of them.
    fn fields<'de, V: Visitor<'de>>(
        mut self,
        fields: &'static [&'static str],
        visitor: V,
    ) -> Result<V::Value, Refusal> {
        match self.way {
            [] => {
                let [open, close] = self.answer.marks(true);
                self.answer.write(Wanted::Fields, open);
                let value = visitor.visit_map(Fields { asked: &mut self, left: fields, first: true })?;
                self.answer.text.push_str(close);
                Ok(value)
            }
            [Step::Field(name), ..] => match fields.iter().position(|field| field == name) {
                Some(at) => {
                    let left = fields.get(at..=at).unwrap_or_default();
                    visitor.visit_map(Fields { asked: &mut self, left, first: true })
                }
                None => Err(nothing()),
            },
            _ => Err(nothing()),
        }
    }

    fn number<'de, V: Visitor<'de>>(self, wanted: Wanted, visitor: V) -> Result<V::Value, Refusal> {
        self.is_there()?;
        self.answer.write(wanted, if wanted == Wanted::Number { "1.0" } else { "1" });
        if wanted == Wanted::Number { visitor.visit_f64(1.0) } else { visitor.visit_u64(1) }
    }
}

fn nothing() -> Refusal {
    Refusal::custom("no such place")
}

/// The fields that are left to be read.
struct Fields<'a, 'b> {
    asked: &'b mut Asked<'a>,
    left: &'static [&'static str],
    first: bool,
}

impl<'de> MapAccess<'de> for Fields<'_, '_> {
    type Error = Refusal;

    fn next_key_seed<K: DeserializeSeed<'de>>(&mut self, seed: K) -> Result<Option<K::Value>, Refusal> {
        let Some((name, left)) = self.left.split_first() else { return Ok(None) };
        self.left = left;
        if self.asked.way.is_empty() {
            if !self.first {
                self.asked.answer.text.push_str(", ");
            }
            self.asked.answer.key(name);
        }
        self.first = false;
        let name: StrDeserializer<'_, Refusal> = (*name).into_deserializer();
        seed.deserialize(name).map(Some)
    }

    fn next_value_seed<V: DeserializeSeed<'de>>(&mut self, seed: V) -> Result<V::Value, Refusal> {
        let way = self.asked.way.get(1..).unwrap_or_default();
        self.asked.read(way, seed)
    }
}

/// The values that are left to be read; all are of one kind, so the way leads through the first.
struct Values<'a, 'b> {
    asked: &'b mut Asked<'a>,
    left: usize,
    first: bool,
}

impl<'de> SeqAccess<'de> for Values<'_, '_> {
    type Error = Refusal;

    fn next_element_seed<S: DeserializeSeed<'de>>(&mut self, seed: S) -> Result<Option<S::Value>, Refusal> {
        let Some(left) = self.left.checked_sub(1) else { return Ok(None) };
        self.left = left;
        if self.asked.way.is_empty() && !self.first {
            self.asked.answer.text.push_str(", ");
        }
        self.first = false;
        let way = self.asked.way.get(1..).unwrap_or_default();
        self.asked.read(way, seed).map(Some)
    }
}

impl<'de> Deserializer<'de> for Asked<'_> {
    type Error = Refusal;

    fn deserialize_any<V: Visitor<'de>>(self, _: V) -> Result<V::Value, Refusal> {
        Err(nothing())
    }

    fn deserialize_bool<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Refusal> {
        self.is_there()?;
        self.answer.write(Wanted::Flag, "false");
        visitor.visit_bool(false)
    }

    fn deserialize_f64<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Refusal> {
        self.number(Wanted::Number, visitor)
    }

    fn deserialize_u32<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Refusal> {
        self.number(Wanted::Whole, visitor)
    }

    fn deserialize_u64<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Refusal> {
        self.number(Wanted::Whole, visitor)
    }

    fn deserialize_str<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Refusal> {
        self.is_there()?;
        let answer = self.answer;
        if answer.choices.len() <= answer.texts {
            answer.choices.push(0);
        }
        let choice = answer.choices.get(answer.texts).copied().unwrap_or_default();
        let text = TEXTS.get(choice).copied().unwrap_or_default();
        answer.texts += 1;
        answer.write(Wanted::Text, &format!("\"{text}\""));
        visitor.visit_str(text)
    }

    fn deserialize_string<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Refusal> {
        self.deserialize_str(visitor)
    }

    fn deserialize_option<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Refusal> {
        if self.answer.wanted.is_none() {
            return visitor.visit_some(self);
        }
        self.answer.text.push_str(if self.answer.format == Format::Ron { "None" } else { "null" });
        visitor.visit_none()
    }

    fn deserialize_newtype_struct<V: Visitor<'de>>(self, _: &'static str, visitor: V) -> Result<V::Value, Refusal> {
        visitor.visit_newtype_struct(self)
    }

    fn deserialize_seq<V: Visitor<'de>>(mut self, visitor: V) -> Result<V::Value, Refusal> {
        match self.way {
            [] => {
                self.answer.write(Wanted::List, "[]");
                visitor.visit_seq(Values { asked: &mut self, left: 0, first: true })
            }
            [Step::Index(_), ..] => visitor.visit_seq(Values { asked: &mut self, left: 1, first: true }),
            _ => Err(nothing()),
        }
    }

    fn deserialize_tuple<V: Visitor<'de>>(mut self, len: usize, visitor: V) -> Result<V::Value, Refusal> {
        if !self.way.is_empty() {
            return self.deserialize_seq(visitor);
        }
        let [open, close] = self.answer.marks(false);
        self.answer.write(Wanted::Values(len), open);
        let values = visitor.visit_seq(Values { asked: &mut self, left: len, first: true })?;
        self.answer.text.push_str(close);
        Ok(values)
    }

    fn deserialize_struct<V: Visitor<'de>>(
        self,
        _: &'static str,
        fields: &'static [&'static str],
        visitor: V,
    ) -> Result<V::Value, Refusal> {
        self.fields(fields, visitor)
    }

    fn deserialize_enum<V: Visitor<'de>>(
        self,
        _: &'static str,
        variants: &'static [&'static str],
        visitor: V,
    ) -> Result<V::Value, Refusal> {
        let name = match self.way {
            [] => variants.first(),
            [Step::Field(name), ..] => variants.iter().find(|variant| *variant == name),
            _ => None,
        };
        let name = name.ok_or_else(nothing)?;
        if self.way.is_empty() {
            self.answer.wanted.get_or_insert(Wanted::Choice(variants));
        }
        visitor.visit_enum(Variant { asked: self, name })
    }

    forward_to_deserialize_any! {
        i8 i16 i32 i64 i128 u8 u16 u128 f32 char bytes byte_buf unit unit_struct tuple_struct map identifier
        ignored_any
    }
}

/// The variant on the way, or the first.
struct Variant<'a> {
    asked: Asked<'a>,
    name: &'static str,
}

impl<'a> Variant<'a> {
    /// Writes the name, reads what is in it, and writes its end; says whether there are marks around it in RON.
    fn within<T>(mut self, marked: bool, read: impl FnOnce(Asked<'_>) -> Result<T, Refusal>) -> Result<T, Refusal> {
        let Some((_, way)) = self.asked.way.split_first() else {
            let [open, close] = match (self.asked.answer.format, marked) {
                (Format::Ron, true) => [format!("{}(", self.name), ")".to_owned()],
                (Format::Ron, false) => [self.name.to_owned(), String::new()],
                (Format::Json, _) => [format!("{{\"{}\": ", self.name), "}".to_owned()],
            };
            self.asked.answer.text.push_str(&open);
            let value = read(Asked { way: &[], answer: self.asked.answer })?;
            self.asked.answer.text.push_str(&close);
            return Ok(value);
        };
        let arrives = way.is_empty() && self.asked.answer.wanted.is_none();
        let value = read(Asked { way, answer: self.asked.answer })?;
        self.asked.answer.sound |= arrives;
        self.asked.way = way;
        Ok(value)
    }
}

impl<'de> EnumAccess<'de> for Variant<'_> {
    type Error = Refusal;
    type Variant = Self;

    fn variant_seed<V: DeserializeSeed<'de>>(self, seed: V) -> Result<(V::Value, Self), Refusal> {
        let name: StrDeserializer<'_, Refusal> = self.name.into_deserializer();
        Ok((seed.deserialize(name)?, self))
    }
}

impl<'de> VariantAccess<'de> for Variant<'_> {
    type Error = Refusal;

    fn unit_variant(self) -> Result<(), Refusal> {
        self.asked.is_there()?;
        let quote = if self.asked.answer.format == Format::Json { "\"" } else { "" };
        let word = format!("{quote}{}{quote}", self.name);
        self.asked.answer.text.push_str(&word);
        Ok(())
    }

    fn newtype_variant_seed<S: DeserializeSeed<'de>>(self, seed: S) -> Result<S::Value, Refusal> {
        self.within(true, |asked| seed.deserialize(asked))
    }

    fn tuple_variant<V: Visitor<'de>>(self, len: usize, visitor: V) -> Result<V::Value, Refusal> {
        self.within(false, |asked| asked.deserialize_tuple(len, visitor))
    }

    fn struct_variant<V: Visitor<'de>>(self, fields: &'static [&'static str], visitor: V) -> Result<V::Value, Refusal> {
        self.within(false, |asked| asked.fields(fields, visitor))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::catalog::CatalogFile;
    use crate::layout::LayoutFile;

    /// What is wanted at a place and what will do, in RON and in JSON.
    fn check<T: DeserializeOwned>(place: &str, wanted: Wanted, ron: &str, json: &str) {
        for (format, text) in [(Format::Ron, ron), (Format::Json, json)] {
            let found = sample::<T>(place, format);
            assert_eq!(found, Some(Sample { wanted, text: text.to_owned() }), "{place} in {format:?}");
        }
    }

    #[test]
    fn types_tell_what_they_want() {
        check::<LayoutFile>("version", Wanted::Whole, "1", "1");
        check::<LayoutFile>("panels", Wanted::List, "[]", "[]");
        check::<LayoutFile>("panels[7].size", Wanted::Values(2), "(1.0, 1.0)", "[1.0, 1.0]");
        check::<LayoutFile>("panels[7].size[1]", Wanted::Number, "1.0", "1.0");
        check::<LayoutFile>("panels[0].removable", Wanted::Flag, "false", "false");
        check::<LayoutFile>("panels[0].across", Wanted::Text, "\"+x\"", "\"+x\"");
        check::<LayoutFile>("components[3].name", Wanted::Text, "\"x\"", "\"x\"");
        check::<LayoutFile>("components[3].ports[2].thread", Wanted::Text, "\"G 1/4\"", "\"G 1/4\"");
        let genders = Wanted::Choice(&["male", "female"]);
        check::<LayoutFile>("components[3].ports[2].gender", genders, "male", "\"male\"");
        check::<LayoutFile>("components[0].solids[0].shape.hull.points[3][1]", Wanted::Number, "1.0", "1.0");
        let losses = Wanted::Choice(&["table", "coefficient"]);
        check::<LayoutFile>("components[0].flow.loss", losses, "table([])", "{\"table\": []}");
        check::<LayoutFile>("components[0].flow.loss.table[1]", Wanted::Values(2), "(1.0, 1.0)", "[1.0, 1.0]");
        check::<CatalogFile>("fittings[1].solids[0].sleeve.leg", Wanted::Whole, "1", "1");
        let solids = Wanted::Choice(&["sleeve", "knuckle", "free"]);
        check::<CatalogFile>(
            "fittings[1].solids[0]",
            solids,
            "sleeve(leg: 1, from: 1.0, to: None, diameter: 1.0)",
            "{\"sleeve\": {\"leg\": 1, \"from\": 1.0, \"to\": null, \"diameter\": 1.0}}",
        );
        check::<CatalogFile>(
            "fittings[1].ends[0]",
            Wanted::Fields,
            "(thread: \"G 1/4\", gender: male, thread_length_mm: 1.0, swivel: false, collar_mm: 1.0)",
            "{\"thread\": \"G 1/4\", \"gender\": \"male\", \"thread_length_mm\": 1.0, \"swivel\": false, \"collar_mm\": 1.0}",
        );
    }

    #[test]
    fn no_type_wants_anything_at_a_place_it_does_not_have() {
        for place in ["nowhere", "panels.name", "panels[0].at[0][0]", "version[1]", "components[0].solids[0].shape.bax"]
        {
            assert_eq!(sample::<LayoutFile>(place, Format::Ron), None, "{place}");
        }
    }
}
