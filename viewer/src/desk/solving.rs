//! Solving away from the program's own thread: a worker that takes the newest request, tells how far it is, and stops
//! when told to.

use super::answers::{Asked, Solved};
use elbowroom::{
    bridge::{Chain, Counts, Wishes},
    catalog::Catalog,
    layout::{Gap, Layout},
};
use std::{
    fmt,
    sync::{
        Arc, Condvar, Mutex, MutexGuard, PoisonError,
        atomic::{AtomicBool, AtomicU64, Ordering},
        mpsc,
    },
    thread,
    time::{Duration, Instant},
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
    /// To follow a component that is being dragged: only the best chain of each gap, where the chains that were known
    /// before are given, and no near misses.
    pub quick: Option<Vec<Vec<Chain>>>,
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
    /// Whether chains are found and near misses are looked for.
    pub near_misses: bool,
    /// What the search did so far.
    pub counts: Counts,
}

/// Called when there is news, from the worker's threads: wakes the program.
type Wake = Arc<dyn Fn() + Send + Sync>;

/// A thread that solves.
pub struct Worker {
    shared: Arc<Shared>,
    news: Mutex<mpsc::Receiver<News>>,
    last: u64,
}

/// Least time between two wake-ups for progress alone.
const WAKE_EVERY: Duration = Duration::from_millis(100);

struct Shared {
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

    fn is_wanted(&self, request: u64) -> bool {
        request >= self.oldest_wanted.load(Ordering::Relaxed)
    }

    fn wake(&self) {
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

/// Answers gap after gap; near misses come last, since they take longest and chains are what people wait for.
fn solve(shared: &Shared, news: &mpsc::Sender<News>, number: u64, request: &Request) {
    let mut open = Vec::new();
    let of = request.gaps.len();
    let tell = |gap: usize, solved: &Solved| {
        let sent = news.send(News::Solved { request: number, gap, solved: Box::new(solved.clone()) });
        shared.wake();
        sent.is_ok()
    };
    for (done, index) in request.gaps.iter().enumerate() {
        let Some(gap) = request.layout.gaps().get(*index) else { continue };
        let start = Progress { gap: *index, done, of, ..Progress::default() };
        let known = request.quick.as_ref().map(|known| known.get(done).map_or(&[][..], Vec::as_slice));
        let solved = match known {
            Some(known) => Solved::quick(&request.catalog, &request.layout, gap, &request.asked, known),
            None => search(shared, number, request, gap, start),
        };
        let Some(solved) = solved else { continue };
        if !shared.is_wanted(number) || !tell(*index, &solved) {
            return;
        }
        if solved.ranked().is_empty() && !solved.quick {
            open.push((*index, gap, solved));
        }
    }
    let of = open.len();
    for (done, (index, gap, mut solved)) in open.into_iter().enumerate() {
        if !shared.is_wanted(number) {
            return;
        }
        *lock(&shared.progress) = Some(Progress { gap: index, done, of, near_misses: true, ..Progress::default() });
        shared.wake();
        solved.add_near_misses(&request.catalog, gap, &request.asked);
        if !shared.is_wanted(number) || !tell(index, &solved) {
            return;
        }
    }
}

/// Searches one gap, telling how far it is and looking whether it is still wanted.
fn search(shared: &Shared, number: u64, request: &Request, gap: &Gap, start: Progress) -> Option<Solved> {
    let cancel = AtomicBool::new(!shared.is_wanted(number));
    let woken = Mutex::new(Instant::now());
    *lock(&shared.progress) = Some(start);
    let report = |counts: &Counts| {
        cancel.store(!shared.is_wanted(number), Ordering::Relaxed);
        *lock(&shared.progress) = Some(Progress { counts: *counts, ..start });
        let mut woken = lock(&woken);
        if woken.elapsed() >= WAKE_EVERY {
            *woken = Instant::now();
            shared.wake();
        }
    };
    let asked = &request.asked;
    let wishes = Wishes {
        max_parts: asked.max_parts,
        want: asked.want,
        clearance_mm: asked.clearance_mm,
        flow_l_min: asked.flow_l_min,
        closure_budget: None,
        cancel: Some(&cancel),
        progress: Some(&report),
    };
    Solved::chains(&request.catalog, &request.layout, gap, asked, &wishes)
}

/// A poisoned lock only means that a thread ended early; what it guards is plain data.
fn lock<T: ?Sized>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}
