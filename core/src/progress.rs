//! Progress and cancelling, as the core sees them: a caller's object that is told how far work is and may ask it to stop.

/// Told how far a piece of work is; asked whether to go on.
pub trait Progress: Sync {
    /// `done` of `total` steps are done.
    fn step(&self, done: usize, total: usize);

    /// Whether the caller wants the work to stop.
    fn cancelled(&self) -> bool {
        false
    }

    /// [`Progress::step`], then an error if the caller wants the work to stop.
    fn check(&self, done: usize, total: usize) -> Result<(), Cancelled> {
        self.step(done, total);
        if self.cancelled() { Err(Cancelled) } else { Ok(()) }
    }
}

/// The caller asked the work to stop; nothing was changed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("stopped as asked; nothing was changed")]
pub struct Cancelled;

/// A [`Progress`] that nobody listens to.
#[derive(Debug, Clone, Copy, Default)]
pub struct Quiet;

impl Progress for Quiet {
    fn step(&self, _done: usize, _total: usize) {}
}
