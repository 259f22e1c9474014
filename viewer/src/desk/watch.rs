//! Noticing that a file changed on disk.

use std::{
    fs,
    path::{Path, PathBuf},
    sync::{Arc, Mutex, PoisonError, Weak},
    thread,
    time::{Duration, Instant, SystemTime},
};

/// A file that is looked at now and then.
#[derive(Clone, Debug)]
pub(super) struct Watch {
    file: Arc<Mutex<Seen>>,
    looked: Instant,
}

/// The file as it was seen last.
#[derive(Clone, Debug)]
struct Seen {
    path: PathBuf,
    stamp: Option<Stamp>,
}

/// Time between two looks: short enough to feel immediate, long enough to cost nothing.
const LOOK_EVERY: Duration = Duration::from_millis(500);

#[derive(Clone, Copy, Debug, PartialEq)]
struct Stamp {
    changed: SystemTime,
    bytes: u64,
}

impl Watch {
    /// Watches `path` from how it is now, and calls `wake` from a thread of its own, which ends with the watch, as long as
    /// there is a change that [`Watch::changed`] has not told: so a program need not look by itself, and may rest. Where
    /// the system grants no thread it has to look.
    pub(super) fn new(path: &Path, wake: impl Fn() + Send + 'static) -> Self {
        let file = Arc::new(Mutex::new(Seen { path: path.to_owned(), stamp: stamp(path) }));
        let theirs = Arc::downgrade(&file);
        // Without the thread changes are noticed when the program next has something else to do.
        let _ = thread::Builder::new().name("watch".to_owned()).spawn(move || look_out(&theirs, &wake));
        Self { file, looked: Instant::now() }
    }

    /// The file.
    pub(super) fn path(&self) -> PathBuf {
        self.seen(|seen| seen.path.clone())
    }

    /// Whether the file changed since the last time that this said so. A file that is gone has not changed: editors
    /// take it away for a moment when they save. Looks at the disk at most twice a second.
    pub(super) fn changed(&mut self, now: Instant) -> bool {
        if now.saturating_duration_since(self.looked) < LOOK_EVERY {
            return false;
        }
        self.looked = now;
        self.seen(|seen| match seen.changed() {
            Some(found) => {
                seen.stamp = Some(found);
                true
            }
            None => false,
        })
    }

    /// When to look again.
    pub(super) fn next_look(&self) -> Instant {
        self.looked + LOOK_EVERY
    }

    fn seen<T>(&self, of: impl FnOnce(&mut Seen) -> T) -> T {
        // A poisoned lock only means that a thread ended early; what it guards is plain data.
        of(&mut self.file.lock().unwrap_or_else(PoisonError::into_inner))
    }
}

impl Seen {
    /// What the file is now, if that is something else.
    fn changed(&self) -> Option<Stamp> {
        stamp(&self.path).filter(|found| Some(*found) != self.stamp)
    }
}

/// Looks at the disk until nobody watches any more.
fn look_out(file: &Weak<Mutex<Seen>>, wake: &dyn Fn()) {
    loop {
        thread::sleep(LOOK_EVERY);
        let Some(file) = file.upgrade() else { return };
        let changed = file.lock().unwrap_or_else(PoisonError::into_inner).changed().is_some();
        drop(file);
        if changed {
            wake();
        }
    }
}

fn stamp(path: &Path) -> Option<Stamp> {
    let found = fs::metadata(path).ok()?;
    Some(Stamp { changed: found.modified().ok()?, bytes: found.len() })
}

#[cfg(test)]
mod tests {
    use super::{LOOK_EVERY, Watch};
    use std::{
        fs,
        sync::mpsc,
        time::{Duration, Instant},
    };

    #[test]
    fn a_change_is_told_once_and_a_file_that_is_gone_is_no_change() {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("boat.ron");
        fs::write(&path, "one").expect("written");
        let mut watch = Watch::new(&path, || {});
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
        let mut watch = Watch::new(&path, || {});
        fs::write(&path, "longer").expect("written");
        assert!(!watch.changed(Instant::now()));
        assert!(watch.changed(watch.next_look()));
    }

    #[test]
    fn a_change_wakes_until_it_is_told() {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("boat.ron");
        fs::write(&path, "one").expect("written");
        let (sender, woken) = mpsc::channel();
        let mut watch = Watch::new(&path, move || {
            // Nobody listens any more once the test is over.
            let _ = sender.send(());
        });
        fs::write(&path, "longer").expect("written");
        // However slow the machine: it only ends what hangs.
        let long = Duration::from_secs(3600);
        for _ in 0..2 {
            woken.recv_timeout(long).expect("woken again while nobody looks");
        }
        assert!(watch.changed(watch.next_look()));
        drop(watch);
        // The thread ends, and its end of the channel with it.
        while woken.recv_timeout(long).is_ok() {}
        assert_eq!(woken.recv_timeout(long), Err(mpsc::RecvTimeoutError::Disconnected));
    }
}
