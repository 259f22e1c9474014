//! `help`: the pages of the guide, and the options of each command.

use super::{
    args::{Cli, HelpArgs},
    failure::Failure,
    markdown::rendered,
    output::Output,
};
use clap::CommandFactory as _;
use elbowroom::{
    guide::{self, PAGES},
    report::Outcome,
};

/// Widest line, in columns, as in reports.
const WIDEST: usize = 100;
/// Narrowest line that text is wrapped to; a narrower terminal wraps for itself.
const NARROWEST: usize = 40;

/// Lists the topics, or prints one.
pub(crate) fn run(args: &HelpArgs, output: &Output) -> Result<Outcome, Failure> {
    let text = match args.topic.as_deref() {
        None => topics(),
        Some(name) => match command_help(name, output.in_colour()) {
            Some(help) => help,
            None => {
                let page = guide::page(name).map_err(Failure::Message)?;
                rendered(page.text, width(), output.in_colour())
            }
        },
    };
    output.results(&text)?;
    Ok(Outcome::Fits)
}

fn topics() -> String {
    let widest = PAGES.iter().map(|page| page.name.len()).max().unwrap_or(0);
    let lines: String = PAGES.iter().map(|page| format!("  {:widest$}  {}\n", page.name, page.summary)).collect();
    format!(
        "The guide to Elbowroom. `elbowroom help TOPIC` prints a page:\n\n{lines}\n\
         `elbowroom help COMMAND` prints the options of a command; `elbowroom --help` lists the commands.\n"
    )
}

/// What `COMMAND --help` prints; `None` if there is no such command.
fn command_help(name: &str, in_colour: bool) -> Option<String> {
    let mut all = Cli::command();
    all.build();
    let help = all.find_subcommand_mut(name)?.render_long_help();
    Some(if in_colour { help.ansi().to_string() } else { help.to_string() })
}

/// How wide the terminal is, within reason.
fn width() -> usize {
    match terminal_size::terminal_size() {
        Some((columns, _)) => usize::from(columns.0).clamp(NARROWEST, WIDEST),
        None => WIDEST,
    }
}
