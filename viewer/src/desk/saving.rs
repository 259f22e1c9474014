//! Writing a layout as a new file, whole or not at all.

use std::{
    fs, io,
    io::Write as _,
    path::{Path, PathBuf},
};

/// Why nothing was written.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum BadSave {
    /// The file exists, and replacing it was not asked for.
    #[error("{0} exists; choose another name, or allow it to be replaced")]
    Exists(PathBuf),
    /// The system refused.
    #[error("cannot write {path}: {error}; check the folder and its permissions")]
    Refused {
        /// The file.
        path: PathBuf,
        /// What the system said.
        error: io::Error,
    },
}

/// Writes `text` to `path`: first to a file beside it, which then takes its name, so that there is never half a file.
///
/// # Errors
/// When the file exists and `replace` is false; when the folder is not there or cannot be written to.
pub(super) fn save(path: &Path, text: &str, replace: bool) -> Result<(), BadSave> {
    let refused = |error| BadSave::Refused { path: path.to_owned(), error };
    let folder = match path.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => Path::new("."),
    };
    let mut file = tempfile::NamedTempFile::new_in(folder).map_err(refused)?;
    file.write_all(text.as_bytes()).and_then(|()| file.as_file().sync_all()).map_err(refused)?;
    make_readable(&file, path).map_err(refused)?;
    if replace {
        file.persist(path).map_err(|error| refused(error.error))?;
        return Ok(());
    }
    match file.persist_noclobber(path) {
        Ok(_) => Ok(()),
        Err(error) if error.error.kind() == io::ErrorKind::AlreadyExists => Err(BadSave::Exists(path.to_owned())),
        Err(error) => Err(refused(error.error)),
    }
}

/// A name for a changed copy of the layout at `path`: beside it, with a number that is free.
pub(super) fn free_name(path: &Path) -> PathBuf {
    let stem = path.file_stem().map_or_else(|| "layout".into(), |stem| stem.to_string_lossy().into_owned());
    let ending = path.extension().map_or_else(|| "ron".into(), |ending| ending.to_string_lossy().into_owned());
    // A copy of a copy counts on instead of growing a second number.
    let base =
        stem.rsplit_once('-').filter(|(_, number)| number.parse::<u32>().is_ok()).map_or(&*stem, |(base, _)| base);
    let names = (2_u32..).map(|number| path.with_file_name(format!("{base}-{number}.{ending}")));
    names
        .into_iter()
        .find(|name| !name.exists())
        .unwrap_or_else(|| path.with_file_name(format!("{base}-copy.{ending}")))
}

/// Temporary files are the owner's alone; a layout gets the permissions of the file that it replaces, or those that new
/// files have.
#[cfg(unix)]
fn make_readable(file: &tempfile::NamedTempFile, path: &Path) -> io::Result<()> {
    use std::os::unix::fs::PermissionsExt as _;
    let permissions =
        fs::metadata(path).map_or_else(|_| fs::Permissions::from_mode(0o644), |found| found.permissions());
    file.as_file().set_permissions(permissions)
}

#[cfg(not(unix))]
fn make_readable(_: &tempfile::NamedTempFile, _: &Path) -> io::Result<()> {
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::{BadSave, free_name, save};
    use std::fs;

    #[test]
    fn a_file_is_written_once_and_replaced_only_when_allowed() {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("boat.ron");
        save(&path, "one", false).expect("written");
        assert!(matches!(save(&path, "two", false), Err(BadSave::Exists(_))));
        assert_eq!(fs::read_to_string(&path).expect("there"), "one");
        save(&path, "two", true).expect("replaced");
        assert_eq!(fs::read_to_string(&path).expect("there"), "two");
        assert_eq!(fs::read_dir(folder.path()).expect("a folder").count(), 1, "nothing else is left behind");
    }

    #[test]
    fn a_folder_that_is_not_there_is_named() {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("nowhere").join("boat.ron");
        let error = save(&path, "one", false).expect_err("no such folder").to_string();
        assert!(error.contains("nowhere") && error.contains("check the folder"), "{error}");
    }

    #[test]
    fn copies_are_numbered() {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("boat.ron");
        assert_eq!(free_name(&path), folder.path().join("boat-2.ron"));
        fs::write(folder.path().join("boat-2.ron"), "").expect("written");
        assert_eq!(free_name(&path), folder.path().join("boat-3.ron"));
        assert_eq!(free_name(&folder.path().join("boat-2.ron")), folder.path().join("boat-3.ron"));
    }
}
