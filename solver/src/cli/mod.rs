//! The command line: reading arguments and files, writing results. One file a command.

mod apply;
mod args;
mod bridge;
mod catalog;
mod check;
mod demo;
mod exit;
mod failure;
mod flow;
mod help;
mod interrupt;
mod load;
mod make_up;
mod markdown;
mod output;
mod paperwork;
mod plan;
mod progress;
mod spared;

use args::{Cli, Command, Format};
use clap::Parser as _;
use elbowroom::report::Outcome;
use failure::Failure;
use output::Output;
use std::{
    panic::{self, UnwindSafe},
    process::ExitCode,
};

/// Runs the program and turns everything that can happen into an exit code.
pub(crate) fn main() -> ExitCode {
    let cli = Cli::parse();
    ExitCode::from(guarded(|| run(&cli)))
}

/// Runs `work`, tells what went wrong, and gives the exit code; a panic in it is an internal fault.
fn guarded(work: impl FnOnce() -> Result<Outcome, Failure> + UnwindSafe) -> u8 {
    // A panic is a defect; its reader is a builder, who can do nothing with a backtrace but can send the message.
    panic::set_hook(Box::new(|info| {
        output::to_stderr(&format!(
            "internal fault: {info}\nThis is a defect of elbowroom, not of your files. No output file was written."
        ));
    }));
    let ended = panic::catch_unwind(work);
    drop(panic::take_hook());
    match ended {
        Ok(Ok(outcome)) => exit::code(outcome),
        Ok(Err(failure)) => {
            match failure {
                Failure::Message(message) => output::to_stderr(&format!("error: {message}")),
                Failure::Problems(text) => output::to_stderr(&text),
            }
            exit::BAD_INPUT
        }
        Err(_) => exit::INTERNAL_FAULT,
    }
}

fn run(cli: &Cli) -> Result<Outcome, Failure> {
    let writes_beside = match &cli.command {
        Some(Command::Flow(args)) => args.plot.is_some(),
        Some(Command::Bridge(args)) => args.plot.is_some(),
        Some(Command::Plan(args)) => args.list.is_some(),
        _ => false,
    };
    if cli.common.force && cli.common.output.is_none() && !writes_beside {
        let message = "--force lets `--output FILE`, `--plot FILE` or `--list FILE` replace a file; name the file";
        return Err(Failure::Message(message.to_owned()));
    }
    if let (Format::Json, Some(what)) = (cli.common.format, without_json(cli.command.as_ref())) {
        return Err(Failure::Message(format!("{what} and has no JSON form; leave out `--format json`")));
    }
    spared::check(cli)?;
    let output = Output::new(&cli.common)?;
    match &cli.command {
        None => demo::show(&cli.common, &output),
        Some(Command::Check(args)) => check::run(args, &cli.common, &output),
        Some(Command::Bridge(args)) => bridge::run(args, &cli.common, &output),
        Some(Command::Plan(args)) => plan::run(args, &cli.common, &output),
        Some(Command::Flow(args)) => flow::run(args, &cli.common, &output),
        Some(Command::Catalog(args)) => catalog::run(args, &cli.common, &output),
        Some(Command::Demo) => demo::write(&output),
        Some(Command::Help(args)) => help::run(args, &output),
        Some(Command::Completions(args)) => paperwork::completions(args, &output),
        Some(Command::Manual) => paperwork::manual(&output),
    }
}

/// What a command writes instead of a report; `None` for a report, which can be had as JSON.
fn without_json(command: Option<&Command>) -> Option<&'static str> {
    match command? {
        Command::Demo => Some("`demo` writes a layout file in RON"),
        Command::Help(_) => Some("`help` prints a page of the guide"),
        Command::Completions(_) => Some("`completions` writes a script for a shell"),
        Command::Manual => Some("`manual` writes a page for `man`"),
        Command::Bridge(args) if args.apply.is_some() => Some("`bridge --apply` writes the layout as its file has it"),
        Command::Check(_) | Command::Bridge(_) | Command::Plan(_) | Command::Flow(_) | Command::Catalog(_) => None,
    }
}

#[cfg(test)]
mod tests {
    use super::{Failure, guarded};
    use elbowroom::report::Outcome;

    #[test]
    fn every_way_to_end_has_its_own_code() {
        assert_eq!(guarded(|| Ok(Outcome::Fits)), 0);
        assert_eq!(guarded(|| Ok(Outcome::DoesNotFit)), 1);
        assert_eq!(guarded(|| Err(Failure::Message("a file is missing".to_owned()))), 2);
        assert_eq!(guarded(|| Ok(Outcome::NoProof)), 3);
        assert_eq!(guarded(|| panic!("on purpose, to see it caught")), 70);
    }
}
