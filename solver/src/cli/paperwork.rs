//! `completions` and `manual`: what a shell and `man` want to know, from the same source as the help.

use super::{
    args::{Cli, CompletionsArgs, EXIT_CODES, FILES, SEVERAL_GAPS},
    failure::Failure,
    output::Output,
};
use clap::CommandFactory as _;
use clap_mangen::Man;
use elbowroom::report::Outcome;
use std::{
    io::{self, Write as _},
    path::Path,
};

/// Writes a completion script.
pub(crate) fn completions(args: &CompletionsArgs, output: &Output) -> Result<Outcome, Failure> {
    let mut script = Vec::new();
    clap_complete::generate(args.shell, &mut Cli::command(), "elbowroom", &mut script);
    output.results(&String::from_utf8_lossy(&script))?;
    Ok(Outcome::Fits)
}

/// Writes the manual page: the program's own, with a section for each command.
pub(crate) fn manual(output: &Output) -> Result<Outcome, Failure> {
    let page = manual_page().map_err(|error| Failure::io("set", Path::new("the manual page"), &error))?;
    output.results(&String::from_utf8_lossy(&page))?;
    Ok(Outcome::Fits)
}

fn manual_page() -> io::Result<Vec<u8>> {
    let mut command = Cli::command();
    command.build();
    let mut page = Vec::new();
    let whole = Man::new(command.clone());
    whole.render_title(&mut page)?;
    whole.render_name_section(&mut page)?;
    whole.render_synopsis_section(&mut page)?;
    whole.render_description_section(&mut page)?;
    whole.render_options_section(&mut page)?;
    for sub in command.get_subcommands() {
        // The options that all commands share stand once, in the program's own section.
        let name = sub.get_name().to_uppercase();
        let man = Man::new(sub.clone().mut_args(|arg| if arg.is_global_set() { arg.hide(true) } else { arg }));
        let mut section = Vec::new();
        man.render_synopsis_section(&mut section)?;
        man.render_description_section(&mut section)?;
        man.render_options_section(&mut section)?;
        writeln!(page, ".SH \"ELBOWROOM {name}\"")?;
        page.extend(String::from_utf8_lossy(&section).replace(".SH ", ".SS ").bytes());
    }
    writeln!(page, ".SH \"EXIT STATUS\"")?;
    for (code, meaning) in EXIT_CODES {
        writeln!(page, ".TP\n{code}\n{meaning}")?;
    }
    writeln!(page, ".PP\n{SEVERAL_GAPS}\n.SH FILES\n{FILES}")?;
    Ok(page)
}
