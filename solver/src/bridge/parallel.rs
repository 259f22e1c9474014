//! Ordered work on several threads, or on one without the `parallel` feature: the results are the same.

/// Applies `work` to every item; results come in the items' order.
#[cfg(feature = "parallel")]
pub(super) fn map<T: Sync, R: Send>(items: &[T], work: impl Fn(&T) -> R + Sync + Send) -> Vec<R> {
    use rayon::prelude::*;
    // A thread hand-over costs more than a few microseconds of work.
    if items.len() < 4 { items.iter().map(work).collect() } else { items.par_iter().map(work).collect() }
}

/// Applies `work` to every item; results come in the items' order.
#[cfg(not(feature = "parallel"))]
pub(super) fn map<T, R>(items: &[T], work: impl Fn(&T) -> R) -> Vec<R> {
    items.iter().map(work).collect()
}

/// Does two things, at once where there are threads for it.
#[cfg(feature = "parallel")]
pub(super) fn both<A: Send, B: Send>(one: impl FnOnce() -> A + Send, other: impl FnOnce() -> B + Send) -> (A, B) {
    rayon::join(one, other)
}

/// Does two things, one after the other.
#[cfg(not(feature = "parallel"))]
pub(super) fn both<A, B>(one: impl FnOnce() -> A, other: impl FnOnce() -> B) -> (A, B) {
    (one(), other())
}

/// Does something on one of the threads that share the work, so that handing work to the others costs little.
#[cfg(feature = "parallel")]
pub(super) fn inside<R: Send>(work: impl FnOnce() -> R + Send) -> R {
    rayon::scope(|_| work())
}

/// Does something here.
#[cfg(not(feature = "parallel"))]
pub(super) fn inside<R>(work: impl FnOnce() -> R) -> R {
    work()
}
