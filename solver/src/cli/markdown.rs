//! The guide's Markdown, set for a terminal.

use comfy_table::{ContentArrangement, Table, presets};
use pulldown_cmark::{Event, Options, Parser, Tag};
use textwrap::{WordSeparator, WordSplitter};

/// Stands for a blank at which no line may break, within a command or the name of a field.
const NO_BREAK: char = '\u{a0}';

/// `markdown` as text of at most `width` columns, as far as commands and their output are not wider; headings bold, or
/// underlined where no escape sequences are wanted.
pub(crate) fn rendered(markdown: &str, width: usize, bold: bool) -> String {
    let events = Parser::new_ext(markdown, Options::ENABLE_TABLES);
    let blocks = Page { events, bold }.blocks(width);
    format!("{}\n", blocks.join("\n\n").replace(NO_BREAK, " "))
}

struct Page<'a> {
    events: Parser<'a>,
    bold: bool,
}

impl<'a> Page<'a> {
    /// The blocks up to the end of what holds them, each without a line break at its end.
    fn blocks(&mut self, width: usize) -> Vec<String> {
        let mut blocks = Vec::new();
        // An item of a list may hold words without a paragraph around them.
        let mut loose = String::new();
        while let Some(event) = self.events.next() {
            let block = match event {
                Event::End(_) => break,
                Event::Start(Tag::Paragraph) => wrapped(&self.inline(), width),
                Event::Start(Tag::Heading { level, .. }) => self.heading(level as usize),
                Event::Start(Tag::CodeBlock(_)) => code(&self.inline(), width),
                Event::Start(Tag::List(first)) => self.list(first, width),
                Event::Start(Tag::Table(_)) => self.table(width),
                Event::Start(Tag::BlockQuote(_)) => textwrap::indent(&self.blocks(width - 2).join("\n\n"), "  "),
                Event::Rule => "-".repeat(width),
                within => {
                    self.add(within, &mut loose);
                    continue;
                }
            };
            if !loose.is_empty() {
                blocks.push(wrapped(&std::mem::take(&mut loose), width));
            }
            blocks.push(block);
        }
        if !loose.is_empty() {
            blocks.push(wrapped(&loose, width));
        }
        blocks
    }

    fn heading(&mut self, level: usize) -> String {
        let text = self.inline();
        if self.bold {
            return format!("\u{1b}[1m{text}\u{1b}[0m");
        }
        let line = if level == 1 { "=" } else { "-" };
        format!("{text}\n{}", line.repeat(text.chars().count()))
    }

    fn list(&mut self, first: Option<u64>, width: usize) -> String {
        let mut items = Vec::new();
        let mut number = first;
        while let Some(Event::Start(_)) = self.events.next() {
            let mark = number.map_or_else(|| "- ".to_owned(), |number| format!("{number}. "));
            number = number.map(|number| number + 1);
            let text = self.blocks(width.saturating_sub(mark.len())).join("\n");
            let hanging = textwrap::indent(&text, &" ".repeat(mark.len()));
            items.push(format!("{mark}{}", hanging.trim_start()));
        }
        items.join("\n")
    }

    fn table(&mut self, width: usize) -> String {
        let mut table = Table::new();
        table.load_style(presets::NOTHING).set_content_arrangement(ContentArrangement::Dynamic);
        table.set_width(u16::try_from(width).unwrap_or(u16::MAX));
        while let Some(Event::Start(row)) = self.events.next() {
            let mut cells = Vec::new();
            while let Some(Event::Start(_)) = self.events.next() {
                cells.push(self.inline().replace(NO_BREAK, " "));
            }
            // A header without words only spaces the table.
            match row {
                Tag::TableHead if cells.iter().all(String::is_empty) => {}
                Tag::TableHead => drop(table.set_header(cells)),
                _ => drop(table.add_row(cells)),
            }
        }
        for column in table.column_iter_mut() {
            column.set_padding((0, 2));
        }
        table.lines().map(|line| line.trim_end().to_owned()).collect::<Vec<_>>().join("\n")
    }

    /// The words up to the end of what holds them, on one line.
    fn inline(&mut self) -> String {
        let mut text = String::new();
        while let Some(event) = self.events.next() {
            if matches!(event, Event::End(_)) {
                break;
            }
            self.add(event, &mut text);
        }
        text
    }

    /// Adds what stands within a paragraph.
    fn add(&mut self, event: Event<'a>, text: &mut String) {
        match event {
            Event::Text(words) => text.push_str(&words),
            Event::Code(code) => text.push_str(&format!("`{}`", code.replace(' ', &NO_BREAK.to_string()))),
            Event::SoftBreak | Event::HardBreak => text.push(' '),
            Event::Start(Tag::Link { dest_url, .. }) => {
                let words = self.inline();
                text.push_str(&words);
                match dest_url.strip_suffix(".md") {
                    Some(page) if page == words => {}
                    Some(page) => text.push_str(&format!(" (`elbowroom{NO_BREAK}help{NO_BREAK}{page}`)")),
                    None => text.push_str(&format!(" ({dest_url})")),
                }
            }
            Event::Start(Tag::Image { .. }) => {
                let words = self.inline();
                text.push_str(&format!("[Picture: {words}]"));
            }
            Event::Start(_) => {
                let words = self.inline();
                text.push_str(&words);
            }
            _ => {}
        }
    }
}

/// A paragraph, broken at blanks only.
fn wrapped(text: &str, width: usize) -> String {
    let options = textwrap::Options::new(width)
        .break_words(false)
        .word_separator(WordSeparator::AsciiSpace)
        .word_splitter(WordSplitter::NoHyphenation);
    textwrap::fill(text, options)
}

/// Commands, their output and files as they are, indented where that leaves room.
fn code(text: &str, width: usize) -> String {
    let widest = text.lines().map(|line| line.chars().count()).max().unwrap_or(0);
    let margin = if widest + 2 <= width { "  " } else { "" };
    textwrap::indent(text.trim_end(), margin)
}

#[cfg(test)]
mod tests {
    use super::rendered;

    #[test]
    fn blocks_stand_apart_and_text_is_wrapped() {
        let page = "# Parts\n\nOne two three four [five][a] six\nseven `eight nine`.\n\n- one\n- two three four five\n\n[a]: b.md\n";
        let expected = "Parts\n=====\n\nOne two three four\nfive\n(`elbowroom help b`)\nsix seven\n`eight nine`.\n\n- one\n- two three four\n  five\n";
        assert_eq!(rendered(page, 20, false), expected);
        assert!(rendered(page, 20, true).starts_with("\u{1b}[1mParts\u{1b}[0m\n\nOne"));
    }

    #[test]
    fn commands_stay_as_they_are() {
        let page = "```console\n$ a  b\nlong long long long\n```\n\nx\n";
        assert_eq!(rendered(page, 12, false), "$ a  b\nlong long long long\n\nx\n");
        assert_eq!(rendered(page, 30, false), "  $ a  b\n  long long long long\n\nx\n");
    }

    #[test]
    fn cells_of_tables_wrap_within_their_columns() {
        let page = "| | |\n| --- | --- |\n| `a` | one two three four five |\n| b | six |\n";
        assert_eq!(rendered(page, 20, false), "`a`  one two three\n     four five\nb    six\n");
    }
}
