//! Outputs that would destroy something: a file that the same run reads, or one file for two outputs.

use super::{
    args::{Cli, Command},
    failure::Failure,
};
use std::path::{Path, PathBuf};

/// Refuses an output that is an input of the same run or another output of it, whatever the options say: links are
/// followed, and two names of one file are one file.
///
/// # Errors
/// Names the two.
pub(crate) fn check(cli: &Cli) -> Result<(), Failure> {
    let (inputs, beside) = read_and_written(cli);
    let output = cli.common.output.as_deref().filter(|path| path.as_os_str() != "-");
    let outputs: Vec<(&str, &Path)> = output.map(|path| ("--output", path)).into_iter().chain(beside).collect();
    for (option, path) in &outputs {
        if let Some(input) = inputs.iter().find(|input| is_same(path, input)) {
            return Err(Failure::Message(format!(
                "`{option} {}` would replace {}, which this run reads; name another file",
                path.display(),
                input.display()
            )));
        }
    }
    match outputs[..] {
        [(_, results), (option, beside)] if is_same(results, beside) => {
            Err(Failure::Message(format!("`--output` and `{option}` both name {}; name two files", beside.display())))
        }
        _ => Ok(()),
    }
}

/// The files that a command reads, and what it writes beside its results, with the option that asks for it.
fn read_and_written(cli: &Cli) -> (Vec<&Path>, Option<(&'static str, &Path)>) {
    let mut inputs: Vec<&Path> = cli.common.catalog.iter().map(PathBuf::as_path).collect();
    let mut beside = None;
    match &cli.command {
        Some(Command::Check(args)) => inputs.push(&args.layout),
        Some(Command::Bridge(args)) => {
            inputs.push(&args.layout);
            beside = args.plot.as_deref().map(|path| ("--plot", path));
        }
        Some(Command::Plan(args)) => {
            inputs.push(&args.layout);
            inputs.extend(args.stock.as_deref());
            beside = args.list.as_deref().map(|path| ("--list", path));
        }
        Some(Command::Flow(args)) => {
            inputs.push(&args.layout);
            inputs.extend(args.compare.as_deref());
            beside = args.plot.as_deref().map(|path| ("--plot", path));
        }
        Some(Command::Catalog(_) | Command::Demo | Command::Help(_) | Command::Completions(_) | Command::Manual)
        | None => {}
    }
    (inputs, beside)
}

/// Whether two names lead to one file; names of files that are not there yet are compared by folder and name.
fn is_same(one: &Path, other: &Path) -> bool {
    let is_device = |path: &Path| path.exists() && !path.is_file();
    if is_device(one) || is_device(other) {
        return false;
    }
    if let Ok(same) = same_file::is_same_file(one, other) {
        return same;
    }
    let folder = |path: &Path| {
        path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new(".")).to_owned()
    };
    one.file_name() == other.file_name() && same_file::is_same_file(folder(one), folder(other)).unwrap_or(false)
}
