//! The guide for users, a page a module; `elbowroom help TOPIC` prints the same pages.
//!
//! The pages stand in `solver/guide` as Markdown. Their Rust examples are compiled with the other doctests, and their
//! console examples are run by `solver/tests/readme.rs`.

use crate::source::{brief, nearest};

/// A page of the guide.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Page {
    /// What it is asked for by: its file name without `.md`.
    pub name: &'static str,
    /// What it says, in a line.
    pub summary: &'static str,
    /// Its text, in Markdown.
    pub text: &'static str,
}

/// Declares a page: its text becomes the documentation of a module. Pages link to each other as `[text][name]`, and each
/// file defines these names for readers of the repository; of two definitions the first counts, which is that of the
/// module here.
macro_rules! page {
    ([$($module:ident $name:literal)*] $here:ident $file:literal) => {
        #[doc = concat!($("[", $name, "]: crate::guide::", stringify!($module), "\n"),*)]
        #[doc = "[picture-chain]: ../../../../../viewer/pictures/chain.png"]
        #[doc = "[picture-demo]: ../../../../../viewer/pictures/demo.png"]
        #[doc = "[picture-making-up]: ../../../../../viewer/pictures/making-up.png"]
        #[doc = ""]
        #[doc = include_str!(concat!("../guide/", $file, ".md"))]
        pub mod $here {}
    };
}

/// Declares all pages and lists them.
macro_rules! pages {
    ($($module:ident $name:literal $summary:literal)*) => {
        pages!(@modules [$($module $name)*] $($module $name)*);
        /// All pages, in the order in which to read them.
        pub const PAGES: &[Page] = &[$(
            Page { name: $name, summary: $summary, text: include_str!(concat!("../guide/", $name, ".md")) }
        ),*];
    };
    (@modules $all:tt $($module:ident $name:literal)*) => { $(page!($all $module $name);)* };
}

pages! {
    example "example" "a tide gauge's controller, from its layout file to its flow"
    machine "machine" "chains for all gaps at once, in one order of work, and what to get"
    heat "heat" "how hot each part gets"
    words "words" "what gap, chain, swivel, clearance, play and the other words mean here"
    layout_file "layout-file" "how to describe your machine"
    catalog_file "catalog-file" "how to add your own fittings and components"
    commands "commands" "commands, options, exit codes"
    answers "answers" "what an answer proves and what it does not"
    accuracy "accuracy" "how exact distances, losses and flow are"
    coverage "coverage" "what is not covered"
    viewer "viewer" "the viewer: window, pictures, films, models"
    embedding "embedding" "Elbowroom as a library"
}

/// The page called `name`.
///
/// # Errors
/// A message that says what to ask for instead: the page with the most similar name, or how to list them all.
pub fn page(name: &str) -> Result<&'static Page, String> {
    if let Some(page) = PAGES.iter().find(|page| page.name == name) {
        return Ok(page);
    }
    let remedy = match nearest(name, PAGES.iter().map(|page| page.name)) {
        Some(near) => format!("did you mean `{near}`?"),
        None => "`elbowroom help` lists the topics".to_owned(),
    };
    Err(format!("the guide has no page `{}`; {remedy}", brief(name)))
}
