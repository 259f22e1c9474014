//! Solving away from the program's own thread: a worker that takes the newest request, tells how far it is, and stops
//! when told to.

use super::answers::{Asked, SideBySide, Solved};
use super::round::solve;
use elbowroom::{bridge, catalog::Catalog, layout::Layout, survey::LossFlows};
use std::{
    fmt,
    sync::{
        Arc, Condvar, Mutex, MutexGuard, PoisonError,
        atomic::{AtomicU64, Ordering},
        mpsc,
    },
    thread,
    time::Duration,
};

/// What is to be solved.
#[derive(Clone, Debug)]
pub struct Request {
    /// The parts.
    pub catalog: Arc<Catalog>,
    /// The machine.
    pub layout: Arc<Layout>,
    /// Gaps by their place in the layout, the most urgent first.
    pub gaps: Vec<usize>,
    /// What is asked of each.
    pub asked: Asked,
    /// For each gap of the layout what is known of it: for this very layout where the gap is not to be solved, and for
    /// an earlier one where it is.
    pub known: Vec<Option<Arc<Solved>>>,
    /// To follow a component that is being dragged: only the best chain of each gap, at these flows, without any more.
    pub quick: Option<Arc<LossFlows>>,
}

/// What the worker tells.
#[derive(Debug)]
pub enum News {
    /// A gap is answered, or answered in more detail than before.
    Solved {
        /// Number of the request.
        request: u64,
        /// The gap.
        gap: usize,
        /// The answer.
        solved: Box<Solved>,
    },
    /// It is known which chains of all gaps can be built side by side.
    SideBySide {
        /// Number of the request.
        request: u64,
        /// Which.
        found: SideBySide,
    },
    /// A request is done with: all gaps answered, or told to stop.
    Done {
        /// Number of the request.
        request: u64,
    },
}

/// How far the work is.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Progress {
    /// The gap that is being searched, by its place in the layout.
    pub gap: usize,
    /// How many gaps of the request are done.
    pub done: usize,
    /// How many it has.
    pub of: usize,
    /// What of it is being done.
    pub doing: Doing,
    /// How far the search is.
    pub search: bridge::Progress,
    /// How long it still takes at most, where that can be told.
    pub left: Option<Duration>,
}

/// What the worker is doing.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Doing {
    /// Finding the flow that the circuit settles at.
    Flow,
    /// Searching the gaps one by one.
    #[default]
    Chains,
    /// Choosing chains that can be built side by side.
    SideBySide,
    /// Looking for near misses of gaps without a chain.
    NearMisses,
}

/// Called when there is news, from the worker's threads: wakes the program.
type Wake = Arc<dyn Fn() + Send + Sync>;

/// A thread that solves.
pub struct Worker {
    shared: Arc<Shared>,
    news: Mutex<mpsc::Receiver<News>>,
    last: u64,
}

pub(super) struct Shared {
    queue: Mutex<Queue>,
    changed: Condvar,
    /// Requests with lower numbers are to stop.
    oldest_wanted: AtomicU64,
    progress: Mutex<Option<Progress>>,
    wake: Mutex<Wake>,
}

#[derive(Default)]
struct Queue {
    waiting: Option<(u64, Request)>,
    closed: bool,
}

impl Worker {
    /// Starts the thread.
    ///
    /// # Errors
    /// When the system grants no thread.
    pub fn start() -> std::io::Result<Self> {
        let (sender, receiver) = mpsc::channel();
        let shared = Arc::new(Shared {
            queue: Mutex::default(),
            changed: Condvar::new(),
            oldest_wanted: AtomicU64::new(0),
            progress: Mutex::default(),
            wake: Mutex::new(Arc::new(|| {})),
        });
        let theirs = Arc::clone(&shared);
        thread::Builder::new().name("solver".to_owned()).spawn(move || work(&theirs, &sender))?;
        Ok(Self { shared, news: Mutex::new(receiver), last: 0 })
    }

    /// Sets what is called when there is news, from the worker's thread: what wakes the program.
    pub fn on_news(&self, wake: impl Fn() + Send + Sync + 'static) {
        *lock(&self.shared.wake) = Arc::new(wake);
    }

    /// The same call, for others that have news from threads of their own.
    pub fn waker(&self) -> impl Fn() + Send + use<> {
        let shared = Arc::clone(&self.shared);
        move || shared.wake()
    }

    /// Takes a request in place of one that still waits, and gives its number. A full search that is under way is
    /// stopped; a quick one is let finish, so that fast dragging cannot starve it.
    pub fn submit(&mut self, request: Request, running_is_quick: bool) -> u64 {
        self.last += 1;
        if !running_is_quick {
            self.shared.oldest_wanted.store(self.last, Ordering::Relaxed);
        }
        lock(&self.shared.queue).waiting = Some((self.last, request));
        self.shared.changed.notify_one();
        self.last
    }

    /// Stops what is under way and drops what waits.
    pub fn cancel(&mut self) {
        self.last += 1;
        self.shared.oldest_wanted.store(self.last, Ordering::Relaxed);
        lock(&self.shared.queue).waiting = None;
    }

    /// What has happened since the last call, without waiting.
    pub fn news(&self) -> Vec<News> {
        lock(&self.news).try_iter().collect()
    }

    /// Waits for the next news, at most so long.
    pub fn wait(&self, at_most: Duration) -> Option<News> {
        lock(&self.news).recv_timeout(at_most).ok()
    }

    /// How far the work is; `None` when there is none.
    #[must_use]
    pub fn progress(&self) -> Option<Progress> {
        *lock(&self.shared.progress)
    }
}

impl fmt::Debug for Worker {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Worker").field("last", &self.last).field("progress", &self.progress()).finish_non_exhaustive()
    }
}

impl Drop for Worker {
    /// Ends the thread without waiting for it.
    fn drop(&mut self) {
        self.shared.oldest_wanted.store(u64::MAX, Ordering::Relaxed);
        lock(&self.shared.queue).closed = true;
        self.shared.changed.notify_one();
    }
}

impl Shared {
    fn next(&self) -> Option<(u64, Request)> {
        let mut queue = lock(&self.queue);
        loop {
            if queue.closed {
                return None;
            }
            if let Some(next) = queue.waiting.take() {
                return Some(next);
            }
            queue = self.changed.wait(queue).unwrap_or_else(PoisonError::into_inner);
        }
    }

    /// Whether nobody has asked for something else since.
    pub(super) fn is_wanted(&self, request: u64) -> bool {
        request >= self.oldest_wanted.load(Ordering::Relaxed)
    }

    /// Says how far the work is.
    pub(super) fn is_at(&self, progress: Progress) {
        *lock(&self.progress) = Some(progress);
    }

    pub(super) fn wake(&self) {
        let wake = Arc::clone(&lock(&self.wake));
        wake();
    }
}

fn work(shared: &Shared, news: &mpsc::Sender<News>) {
    while let Some((number, request)) = shared.next() {
        solve(shared, news, number, &request);
        *lock(&shared.progress) = None;
        if news.send(News::Done { request: number }).is_err() {
            return;
        }
        shared.wake();
    }
}

/// A poisoned lock only means that a thread ended early; what it guards is plain data.
pub(super) fn lock<T: ?Sized>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}
