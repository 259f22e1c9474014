//! Noticing that a file changed on disk.

use std::{
    fs,
    path::{Path, PathBuf},
    time::{Duration, Instant, SystemTime},
};

/// A file that is looked at now and then.
#[derive(Clone, Debug)]
pub(super) struct Watch {
    path: PathBuf,
    seen: Option<Stamp>,
    looked: Instant,
}

/// Time between two looks: short enough to feel immediate, long enough to cost nothing.
const LOOK_EVERY: Duration = Duration::from_millis(500);

#[derive(Clone, Copy, Debug, PartialEq)]
struct Stamp {
    changed: SystemTime,
    bytes: u64,
}

impl Watch {
    /// Watches `path` from how it is now.
    pub(super) fn new(path: &Path) -> Self {
        Self { path: path.to_owned(), seen: stamp(path), looked: Instant::now() }
    }

    /// The file.
    pub(super) fn path(&self) -> &Path {
        &self.path
    }

    /// Whether the file changed since the last time that this said so. A file that is gone has not changed: editors
    /// take it away for a moment when they save. Looks at the disk at most twice a second.
    pub(super) fn changed(&mut self, now: Instant) -> bool {
        if now.saturating_duration_since(self.looked) < LOOK_EVERY {
            return false;
        }
        self.looked = now;
        let found = stamp(&self.path);
        if found.is_none() || found == self.seen {
            return false;
        }
        self.seen = found;
        true
    }

    /// When to look again.
    pub(super) fn next_look(&self) -> Instant {
        self.looked + LOOK_EVERY
    }
}

fn stamp(path: &Path) -> Option<Stamp> {
    let found = fs::metadata(path).ok()?;
    Some(Stamp { changed: found.modified().ok()?, bytes: found.len() })
}

#[cfg(test)]
mod tests {
    use super::{LOOK_EVERY, Watch};
    use std::{fs, time::Instant};

    #[test]
    fn a_change_is_told_once_and_a_file_that_is_gone_is_no_change() {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("boat.ron");
        fs::write(&path, "one").expect("written");
        let mut watch = Watch::new(&path);
        let mut now = Instant::now();
        let mut look = |watch: &mut Watch| {
            now += LOOK_EVERY;
            watch.changed(now)
        };
        assert!(!look(&mut watch));
        fs::write(&path, "longer").expect("written");
        assert!(look(&mut watch));
        assert!(!look(&mut watch));
        fs::remove_file(&path).expect("removed");
        assert!(!look(&mut watch));
        fs::write(&path, "back again").expect("written");
        assert!(look(&mut watch));
    }

    #[test]
    fn the_disk_is_left_alone_between_looks() {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("boat.ron");
        fs::write(&path, "one").expect("written");
        let mut watch = Watch::new(&path);
        fs::write(&path, "longer").expect("written");
        assert!(!watch.changed(Instant::now()));
        assert!(watch.changed(watch.next_look()));
    }
}
