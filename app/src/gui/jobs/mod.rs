//! Long work on named threads: one slot for each kind, with progress and cancel. A result comes back through [`Jobs::take`];
//! starting a kind anew cancels and forgets what ran in its slot, so that no stale result is delivered. A panic in a worker is
//! caught and delivered as a failure.

pub mod kind;
pub mod work;

use std::collections::BTreeMap;
use std::panic::AssertUnwindSafe;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::sync::mpsc::{Receiver, Sender, channel};

use awn_core::progress::Progress;

/// How far a job is, shared between the window and its thread.
#[derive(Debug, Default)]
pub struct Meter {
    done: AtomicUsize,
    total: AtomicUsize,
    cancel: AtomicBool,
}

impl Progress for Meter {
    fn step(&self, done: usize, total: usize) {
        self.done.store(done, Ordering::Relaxed);
        self.total.store(total, Ordering::Relaxed);
    }

    fn cancelled(&self) -> bool {
        self.cancel.load(Ordering::Relaxed)
    }
}

impl Meter {
    /// Part done, 0 to 1; none until the work has said how much there is.
    pub fn part(&self) -> Option<f32> {
        let total = self.total.load(Ordering::Relaxed);
        (total > 0).then(|| (self.done.load(Ordering::Relaxed) as f32 / total as f32).clamp(0.0, 1.0))
    }
}

/// A job that runs.
#[derive(Debug)]
pub struct Running {
    /// What it does, for people: "Proposing stops for 12 fields".
    pub title: String,
    /// Whether people see it; quick refreshing work stays unseen.
    pub shown: bool,
    /// How far it is.
    pub meter: Arc<Meter>,
    number: u64,
}

/// What a job came to.
pub enum Finished<T> {
    /// It gave a value.
    Done(T),
    /// It broke down; the sentence says which one.
    Broke(String),
}

/// All jobs of the window, by kind `K`, giving values of `T`.
pub struct Jobs<K, T> {
    running: BTreeMap<K, Running>,
    sender: Sender<(K, u64, Finished<T>)>,
    receiver: Receiver<(K, u64, Finished<T>)>,
    wake: Arc<dyn Fn() + Send + Sync>,
    inline: bool,
    count: u64,
}

impl<K: Copy + Ord + Send + 'static, T: Send + 'static> Jobs<K, T> {
    /// Jobs on threads; `wake` is called when one has finished.
    pub fn on_threads(wake: impl Fn() + Send + Sync + 'static) -> Self {
        let (sender, receiver) = channel();
        Self { running: BTreeMap::new(), sender, receiver, wake: Arc::new(wake), inline: false, count: 0 }
    }

    /// Jobs that run at once where they are started, for tests.
    pub fn inline() -> Self {
        Self { inline: true, ..Self::on_threads(|| {}) }
    }

    /// Starts work in the slot of its kind; what ran there is cancelled and its result dropped.
    pub fn start(
        &mut self,
        kind: K,
        title: impl Into<String>,
        shown: bool,
        work: impl FnOnce(&dyn Progress) -> T + Send + 'static,
    ) {
        self.cancel(kind);
        self.count += 1;
        let (title, number, meter) = (title.into(), self.count, Arc::new(Meter::default()));
        let running = Running { title: title.clone(), shown, meter: meter.clone(), number };
        self.running.insert(kind, running);
        let (sender, wake) = (self.sender.clone(), self.wake.clone());
        let broke = format!("{title}: the work broke down inside; nothing was changed");
        let run = move || {
            let result = std::panic::catch_unwind(AssertUnwindSafe(|| work(&*meter)));
            let finished = result.map_or(Finished::Broke(broke), Finished::Done);
            // Nobody listens any more when the window has been closed; then there is nobody to tell.
            sender.send((kind, number, finished)).ok();
            wake();
        };
        if self.inline {
            run();
            return;
        }
        let spawned = std::thread::Builder::new().name(title.clone()).spawn(run);
        if let Err(error) = spawned {
            let broke = Finished::Broke(format!("{title}: no thread could be started ({error})"));
            self.sender.send((kind, number, broke)).ok();
        }
    }

    /// Asks the job of a kind to stop and forgets it.
    pub fn cancel(&mut self, kind: K) {
        if let Some(running) = self.running.remove(&kind) {
            running.meter.cancel.store(true, Ordering::Relaxed);
        }
    }

    /// Asks the job of a kind to stop, and waits for its answer.
    pub fn ask_to_stop(&self, kind: K) {
        if let Some(running) = self.running.get(&kind) {
            running.meter.cancel.store(true, Ordering::Relaxed);
        }
    }

    /// The next finished job; results of jobs that were forgotten are dropped.
    pub fn take(&mut self) -> Option<(K, Finished<T>)> {
        while let Ok((kind, number, finished)) = self.receiver.try_recv() {
            if self.running.get(&kind).is_some_and(|running| running.number == number) {
                self.running.remove(&kind);
                return Some((kind, finished));
            }
        }
        None
    }

    /// Whether a job of the kind runs.
    pub fn is_running(&self, kind: K) -> bool {
        self.running.contains_key(&kind)
    }

    /// The jobs that people see.
    pub fn shown(&self) -> impl Iterator<Item = (K, &Running)> {
        self.running.iter().filter(|(_, running)| running.shown).map(|(kind, running)| (*kind, running))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn wait(jobs: &mut Jobs<u8, u32>) -> (u8, Finished<u32>) {
        for _ in 0..2000 {
            if let Some(done) = jobs.take() {
                return done;
            }
            std::thread::sleep(std::time::Duration::from_millis(1));
        }
        panic!("no job finished");
    }

    #[test]
    fn a_newer_job_of_a_kind_replaces_the_older() {
        let mut jobs = Jobs::on_threads(|| {});
        jobs.start(1, "first", true, |progress| {
            while !progress.cancelled() {
                std::thread::yield_now();
            }
            1
        });
        jobs.start(1, "second", true, |_| 2);
        assert!(matches!(wait(&mut jobs), (1, Finished::Done(2))));
        std::thread::sleep(std::time::Duration::from_millis(20));
        assert!(jobs.take().is_none());
    }

    #[test]
    fn a_panic_is_told_and_does_not_end_the_program() {
        let mut jobs = Jobs::<u8, u32>::inline();
        jobs.start(1, "Counting", true, |_| panic!("on purpose"));
        let Some((1, Finished::Broke(text))) = jobs.take() else { panic!() };
        assert!(text.starts_with("Counting"), "{text}");
    }

    #[test]
    fn progress_is_seen_while_the_work_goes_on() {
        let mut jobs = Jobs::<u8, u32>::on_threads(|| {});
        let (go, wait_for) = channel::<()>();
        let (say, hear) = channel::<()>();
        jobs.start(1, "Half", true, move |progress| {
            progress.step(1, 2);
            say.send(()).unwrap();
            wait_for.recv().unwrap();
            7
        });
        hear.recv().unwrap();
        assert_eq!(jobs.shown().next().unwrap().1.meter.part(), Some(0.5));
        go.send(()).unwrap();
        assert!(matches!(wait(&mut jobs), (1, Finished::Done(7))));
        assert!(!jobs.is_running(1));
    }
}
