//! What is wrong with a file, where, and what to do about it.

use super::nearest::legible;
use super::text::Source;
use annotate_snippets::{AnnotationKind, Group, Level, Origin, Renderer, Snippet};
use std::{error::Error, fmt, ops::Range, sync::Arc};

/// Problems shown when a list of them is rendered; the rest are only counted.
const SHOWN: usize = 50;

/// Longest message in bytes. Readers of single values quote what they found, whatever its length.
const LONGEST_MESSAGE: usize = 300;

/// Longest stretch of a line that is handed to the renderer, in characters either side of the problem: a layout
/// written by a program may be one line of a megabyte.
const LINE_MARGIN: usize = 200;

/// A place in a file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Spot {
    source: Arc<Source>,
    item: String,
    span: Option<Range<usize>>,
}

/// One thing that is wrong.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Problem {
    spot: Spot,
    message: String,
    help: Option<String>,
    related: Option<(String, Spot)>,
}

/// Everything that is wrong with one or more files, in the order of the files and of their text. Never empty when it
/// comes out of a `Result`.
///
/// `Display` shows each problem with its line of the file, as [`Problems::render`] does without colours.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Problems {
    list: Vec<Problem>,
}

impl Spot {
    /// No place in particular within the file called `name`.
    pub(crate) fn whole_file(name: &str) -> Self {
        Self { source: Arc::new(Source::new(name, "")), item: String::new(), span: None }
    }

    /// A place in `source`; a span outside the text, or within a character, is moved to the nearest sound one.
    pub(crate) fn new(source: Arc<Source>, item: String, span: Option<Range<usize>>) -> Self {
        let span = span.map(|span| {
            let text = source.text();
            let start = text.floor_char_boundary(span.start.min(text.len()));
            let end = text.ceil_char_boundary(span.end.clamp(start, text.len()));
            start..end
        });
        Self { source, item, span }
    }

    /// Name of the file.
    #[must_use]
    pub fn file(&self) -> &str {
        self.source.name()
    }

    /// The item in the file's data, such as `components[3].at[1]`; empty when it is the file as a whole.
    #[must_use]
    pub fn item(&self) -> &str {
        &self.item
    }

    /// The bytes of the file's text that the problem is about; `None` if there is no text or no place in it.
    #[must_use]
    pub fn span(&self) -> Option<Range<usize>> {
        self.span.clone()
    }

    /// Line and column, both from 1, the column in characters; `None` if there is no span.
    #[must_use]
    pub fn line_and_column(&self) -> Option<(usize, usize)> {
        let before = self.source.text().get(..self.span.as_ref()?.start)?;
        let line_start = before.rfind('\n').map_or(0, |newline| newline + 1);
        let line = 1 + before.bytes().filter(|byte| *byte == b'\n').count();
        Some((line, 1 + before.get(line_start..)?.chars().count()))
    }

    /// The stretch of text around the spot that is worth showing, and the spot within it. A spot of several lines is
    /// shown by its first.
    fn excerpt(&self) -> Option<(&str, Range<usize>)> {
        let text = self.source.text();
        let span = self.span.clone()?;
        let line_start = text.get(..span.start)?.rfind('\n').map_or(0, |newline| newline + 1);
        let line_end = text.get(span.start..)?.find('\n').map_or(text.len(), |length| span.start + length);
        let from = text.floor_char_boundary(line_start.max(span.start.saturating_sub(LINE_MARGIN)));
        let to = text.ceil_char_boundary(line_end.min(span.start + LINE_MARGIN));
        let excerpt = text.get(from..to)?.trim_end_matches('\r');
        // The spot may be a carriage return that was just cut off.
        let within = |byte: usize| byte.saturating_sub(from).min(excerpt.len());
        Some((excerpt, within(span.start)..within(span.end)))
    }
}

impl Problem {
    pub(crate) fn new(spot: Spot, message: impl Into<String>) -> Self {
        let mut message: String = message.into();
        if message.len() > LONGEST_MESSAGE {
            message.truncate(message.floor_char_boundary(LONGEST_MESSAGE));
            message.push_str("...");
        }
        Self { spot, message: legible(&message), help: None, related: None }
    }

    pub(crate) fn help(mut self, help: impl Into<String>) -> Self {
        self.help = Some(legible(&help.into()));
        self
    }

    /// Adds a second place and what it has to do with the first.
    pub(crate) fn related(mut self, label: impl Into<String>, spot: Spot) -> Self {
        self.related = Some((label.into(), spot));
        self
    }

    /// What was expected and what was found.
    #[must_use]
    pub fn message(&self) -> &str {
        &self.message
    }

    /// What to do about it.
    #[must_use]
    pub fn remedy(&self) -> Option<&str> {
        self.help.as_deref()
    }

    /// Where it is.
    #[must_use]
    pub fn spot(&self) -> &Spot {
        &self.spot
    }

    /// A second place that belongs to the problem, such as the first of two definitions, and what it is.
    #[must_use]
    pub fn other_spot(&self) -> Option<(&str, &Spot)> {
        self.related.as_ref().map(|(label, spot)| (label.as_str(), spot))
    }

    fn group(&self) -> Group<'_> {
        let mut group = Group::with_title(Level::ERROR.primary_title(&self.message));
        group = shown(group, &self.spot, AnnotationKind::Primary, None);
        if let Some((label, spot)) = &self.related {
            group = shown(group, spot, AnnotationKind::Context, Some(label));
        }
        match &self.help {
            Some(help) => group.element(Level::HELP.message(help)),
            None => group,
        }
    }
}

fn shown<'a>(group: Group<'a>, spot: &'a Spot, kind: AnnotationKind, label: Option<&'a str>) -> Group<'a> {
    match (spot.excerpt(), spot.line_and_column()) {
        (Some((excerpt, span)), Some((line, _))) => {
            let snippet = Snippet::source(excerpt).line_start(line).path(spot.file());
            group.element(snippet.annotation(kind.span(span).label(label)))
        }
        _ => {
            let origin = Origin::path(spot.file());
            let origin = if spot.item.is_empty() { origin } else { origin.section(spot.item.as_str()) };
            match label {
                Some(label) => group.element(Level::NOTE.message(label)).element(origin),
                None => group.element(origin),
            }
        }
    }
}

impl Problems {
    /// Text for people: each problem with its file, line, column, the line itself and what to do; with terminal
    /// colours if `color`.
    #[must_use]
    pub fn render(&self, color: bool) -> String {
        let renderer = if color { Renderer::styled() } else { Renderer::plain() };
        let mut shown: Vec<String> =
            self.list.iter().take(SHOWN).map(|problem| renderer.render(&[problem.group()])).collect();
        if self.list.len() > SHOWN {
            shown.push(format!("... and {} more problems", self.list.len() - SHOWN));
        }
        shown.join("\n\n")
    }

    /// The problems in order.
    pub fn iter(&self) -> std::slice::Iter<'_, Problem> {
        self.list.iter()
    }

    /// How many there are.
    #[must_use]
    pub fn len(&self) -> usize {
        self.list.len()
    }

    /// Whether nothing is wrong.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.list.is_empty()
    }

    pub(crate) fn push(&mut self, problem: Problem) {
        self.list.push(problem);
    }

    pub(crate) fn pop(&mut self) -> Option<Problem> {
        self.list.pop()
    }

    pub(crate) fn append(&mut self, others: Problems) {
        self.list.extend(others.list);
    }

    /// `value` if nothing is wrong.
    pub(crate) fn or<T>(self, value: T) -> Result<T, Self> {
        if self.is_empty() { Ok(value) } else { Err(self.in_order()) }
    }

    /// Sorts by place in the text, problems of one file staying together in the order in which files were read.
    pub(crate) fn in_order(mut self) -> Self {
        let mut files: Vec<Arc<Source>> = Vec::new();
        let rank = |problem: &Problem, files: &mut Vec<Arc<Source>>| {
            let source = &problem.spot.source;
            files.iter().position(|file| Arc::ptr_eq(file, source)).unwrap_or_else(|| {
                files.push(Arc::clone(source));
                files.len() - 1
            })
        };
        self.list.sort_by_cached_key(|problem| {
            (rank(problem, &mut files), problem.spot.span.as_ref().map_or(usize::MAX, |span| span.start))
        });
        self
    }
}

impl From<Problem> for Problems {
    fn from(problem: Problem) -> Self {
        Self { list: vec![problem] }
    }
}

impl<'a> IntoIterator for &'a Problems {
    type Item = &'a Problem;
    type IntoIter = std::slice::Iter<'a, Problem>;
    fn into_iter(self) -> Self::IntoIter {
        self.iter()
    }
}

impl fmt::Display for Problem {
    /// One line: file, line, column, message.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}:", self.spot.file())?;
        match self.spot.line_and_column() {
            Some((line, column)) => write!(f, "{line}:{column}: ")?,
            None if self.spot.item.is_empty() => f.write_str(" ")?,
            None => write!(f, " {}: ", self.spot.item)?,
        }
        f.write_str(&self.message)
    }
}

impl fmt::Display for Problems {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.render(false))
    }
}

impl Error for Problems {}
