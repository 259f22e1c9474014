//! Where results and messages go: results to standard output or to a file, messages to standard error.

use super::{args::Common, failure::Failure};
use std::{
    fs,
    io::{self, IsTerminal, Write},
    path::{Path, PathBuf},
};

/// Where results and messages go.
#[derive(Debug)]
pub(crate) struct Output {
    target: Target,
    quiet: bool,
}

#[derive(Debug)]
enum Target {
    Stdout,
    /// A file that is written in full or not at all.
    File {
        path: PathBuf,
        force: bool,
    },
    /// Something that is no file, such as `/dev/null` or a named pipe: written to as it stands.
    Device(PathBuf),
}

impl Output {
    /// Settles where results go, before any work is done for them.
    ///
    /// # Errors
    /// Refuses an output file that exists unless `--force` was given, and a folder in any case.
    pub(crate) fn new(common: &Common) -> Result<Self, Failure> {
        let target = match &common.output {
            None => Target::Stdout,
            Some(path) if path.as_os_str() == "-" => Target::Stdout,
            Some(path) => match fs::metadata(path) {
                Err(_) => Target::File { path: path.clone(), force: common.force },
                Ok(found) if found.is_dir() => {
                    return Err(Failure::Message(format!(
                        "cannot write {}: it is a folder; name a file in it",
                        path.display()
                    )));
                }
                Ok(found) if !found.is_file() => Target::Device(path.clone()),
                Ok(_) if !common.force => return Err(exists(path)),
                // The file itself is replaced, not a link that leads to it.
                Ok(_) => {
                    let path = fs::canonicalize(path).map_err(|error| Failure::io("write", path, &error))?;
                    Target::File { path, force: true }
                }
            },
        };
        Ok(Self { target, quiet: common.quiet })
    }

    /// Writes results. A reader that has closed its end of a pipe has seen enough: that is no error.
    ///
    /// # Errors
    /// What the system reports; a file that could not be written in full is left as it was.
    pub(crate) fn results(&self, text: &str) -> Result<(), Failure> {
        match &self.target {
            Target::Stdout => {
                let mut stdout = io::stdout().lock();
                match stdout.write_all(text.as_bytes()).and_then(|()| stdout.flush()) {
                    Err(error) if error.kind() != io::ErrorKind::BrokenPipe => {
                        Err(Failure::io("write", Path::new("standard output"), &error))
                    }
                    _ => Ok(()),
                }
            }
            Target::Device(path) => fs::write(path, text).map_err(|error| Failure::io("write", path, &error)),
            Target::File { path, force } => whole_file(path, text, *force),
        }
    }

    /// Writes a file besides the results, in full or not at all.
    ///
    /// # Errors
    /// What the system reports, and a file that exists unless it may be replaced.
    pub(crate) fn beside(&self, path: &Path, text: &str, force: bool) -> Result<(), Failure> {
        whole_file(path, text, force)
    }

    /// Writes a message for the person at the terminal, unless `--quiet` was given.
    pub(crate) fn note(&self, text: &str) {
        if !self.quiet {
            to_stderr(text);
        }
    }

    /// Whether results may be coloured: they go to a terminal.
    pub(crate) fn in_colour(&self) -> bool {
        matches!(self.target, Target::Stdout) && in_colour(&io::stdout())
    }

    /// Whether only results and errors are wanted.
    pub(crate) fn is_quiet(&self) -> bool {
        self.quiet
    }
}

/// Writes a line to standard error. When even that fails there is nobody left to tell.
pub(crate) fn to_stderr(text: &str) {
    let _ = writeln!(io::stderr().lock(), "{}", text.trim_end());
}

/// Whether messages on standard error may be coloured.
pub(crate) fn stderr_in_colour() -> bool {
    in_colour(&io::stderr())
}

/// Whether what goes to `stream` may be coloured: it is a terminal and `NO_COLOR` is not set, or set to nothing
/// (<https://no-color.org>).
fn in_colour(stream: &impl IsTerminal) -> bool {
    stream.is_terminal() && std::env::var_os("NO_COLOR").is_none_or(|value| value.is_empty())
}

/// Writes beside the file and renames, so that nobody ever sees half a file.
fn whole_file(path: &Path, text: &str, force: bool) -> Result<(), Failure> {
    let folder = match path.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => Path::new("."),
    };
    let failed = |error: io::Error| Failure::io("write", path, &error);
    let mut builder = tempfile::Builder::new();
    builder.prefix(".elbowroom-");
    permissions(&mut builder, path);
    let mut file = builder.tempfile_in(folder).map_err(failed)?;
    file.write_all(text.as_bytes()).and_then(|()| file.as_file().sync_all()).map_err(failed)?;
    if force {
        file.persist(path).map_err(|error| failed(error.error))?;
    } else {
        file.persist_noclobber(path).map_err(|error| match error.error.kind() {
            io::ErrorKind::AlreadyExists => exists(path),
            _ => failed(error.error),
        })?;
    }
    Ok(())
}

/// Gives the new file the rights of the one it replaces, or those that any new file gets.
#[cfg(unix)]
fn permissions(builder: &mut tempfile::Builder<'_, '_>, path: &Path) {
    use std::os::unix::fs::PermissionsExt as _;
    builder.permissions(match fs::metadata(path) {
        Ok(replaced) => replaced.permissions(),
        Err(_) => fs::Permissions::from_mode(0o666),
    });
}

#[cfg(not(unix))]
fn permissions(_: &mut tempfile::Builder<'_, '_>, _: &Path) {}

/// What is said of a file that must not be replaced.
pub(crate) fn exists(path: &Path) -> Failure {
    Failure::Message(format!(
        "{} exists and is left as it is; add --force to replace it, or name another file",
        path.display()
    ))
}
