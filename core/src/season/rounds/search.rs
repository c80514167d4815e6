//! Rounds with little driving: strings of neighbouring calls are taken out of the rounds and put back where they cost least, over
//! and over, and what is not much worse is kept, ever less so as the search cools (Christiaens and Vanden Berghe 2020, Transportation
//! Science 54:417-433: slack induction by string removals). Leaving a call out costs more than any driving, so that as much as
//! possible is visited first, and driving counts among plans that visit as much. Chance comes from a fixed seed: the same task
//! gives the same rounds.

use rand::{RngExt as _, SeedableRng as _};
use rand_chacha::ChaCha8Rng;

use crate::progress::{Cancelled, Progress};
use crate::season::rounds::task::{Schedule, Task};

/// Calls taken out at a time, on average, and the longest string (the values of the source).
const MEAN_REMOVED: f64 = 10.0;
const LONGEST_STRING: f64 = 10.0;
/// Chance that a place for a call is overlooked (the value of the source).
const BLINK: f64 = 0.01;
/// Temperature at the start and at the end, minutes.
const HEAT: [f64; 2] = [60.0, 0.3];
/// Tries for each call, and the fewest and most in all.
const TRIES_A_CALL: usize = 2_000;
const TRIES: [usize; 2] = [10_000, 200_000];
/// Cost of leaving out a call of worth 1, minutes: more than the driving of any season.
const LEFT_OUT: f64 = 1e5;

/// Rounds under search.
#[derive(Clone)]
struct State {
    rounds: Vec<Vec<usize>>,
    /// Minutes of each round.
    load: Vec<f64>,
    /// The round of each call; none: left out.
    of: Vec<Option<usize>>,
    left: Vec<usize>,
}

struct Search<'a> {
    task: &'a Task,
    /// The calls near each, itself first.
    near: Vec<Vec<usize>>,
    random: ChaCha8Rng,
}

impl Search<'_> {
    fn drive(&self, a: Option<usize>, b: Option<usize>) -> f64 {
        let place = |call: Option<usize>| call.map_or(0, |call| call + 1);
        self.task.drive[place(a)][place(b)]
    }

    /// Driving, displeasure with days and what is left out.
    fn cost(&self, state: &State) -> f64 {
        let mut sum: f64 = state.left.iter().map(|call| LEFT_OUT * self.task.calls[*call].worth).sum();
        for (number, round) in state.rounds.iter().enumerate().filter(|(_, round)| !round.is_empty()) {
            let day = number / self.task.cars;
            sum += self.task.driving(round);
            sum += round.iter().filter_map(|call| self.task.calls[*call].days[day]).sum::<f64>();
        }
        sum
    }

    /// Takes strings of calls near a random one out of their rounds.
    fn ruin(&mut self, state: &mut State) {
        let used: Vec<&Vec<usize>> = state.rounds.iter().filter(|round| !round.is_empty()).collect();
        let served: usize = used.iter().map(|round| round.len()).sum();
        if served == 0 {
            return;
        }
        let mean = served as f64 / used.len() as f64;
        let longest = LONGEST_STRING.min(mean).max(1.0);
        let most = (4.0 * MEAN_REMOVED / (1.0 + longest) - 1.0).max(1.0);
        let strings = self.random.random_range(1.0..most + 1.0).floor() as usize;
        let seed = self.random.random_range(0..self.task.calls.len());
        let mut ruined: Vec<usize> = Vec::new();
        for at in 0..self.near[seed].len() {
            if ruined.len() >= strings {
                break;
            }
            let call = self.near[seed][at];
            let Some(round) = state.of[call].filter(|round| !ruined.contains(round)) else { continue };
            ruined.push(round);
            let held = &mut state.rounds[round];
            let string = (held.len() as f64).min(longest);
            let length = (self.random.random_range(1.0..string + 1.0).floor() as usize).clamp(1, held.len());
            let place = held.iter().position(|other| *other == call).unwrap_or(0);
            let first = (place + 1).saturating_sub(length);
            let last = place.min(held.len() - length);
            let from = self.random.random_range(first..=last);
            for call in held.drain(from..from + length) {
                state.of[call] = None;
                state.left.push(call);
            }
            state.load[round] = self.load(&state.rounds[round]);
        }
    }

    fn load(&self, round: &[usize]) -> f64 {
        if round.is_empty() {
            return 0.0;
        }
        self.task.driving(round) + round.iter().map(|call| self.task.calls[*call].minutes).sum::<f64>()
    }

    /// Puts the calls that are out back where they cost least; what fits nowhere stays out.
    fn recreate(&mut self, state: &mut State) {
        let mut out = std::mem::take(&mut state.left);
        for at in (1..out.len()).rev() {
            out.swap(at, self.random.random_range(0..=at));
        }
        let calls = &self.task.calls;
        let days = |call: &usize| calls[*call].days.iter().filter(|day| day.is_some()).count();
        let away = |call: &usize| self.task.drive[0][call + 1];
        match self.random.random_range(0..12) {
            0..4 => {}
            4..8 => out.sort_by(|a, b| calls[*b].minutes.total_cmp(&calls[*a].minutes)),
            8..9 => out.sort_by(|a, b| away(b).total_cmp(&away(a))),
            9..10 => out.sort_by(|a, b| away(a).total_cmp(&away(b))),
            _ => out.sort_by_key(days),
        }
        // What is worth more goes first where worth differs much (pinned fields).
        out.sort_by(|a, b| (calls[*b].worth > 2.0).cmp(&(calls[*a].worth > 2.0)));
        for call in out {
            match self.best_place(state, call) {
                Some((round, at)) => {
                    state.rounds[round].insert(at, call);
                    state.load[round] = self.load(&state.rounds[round]);
                    state.of[call] = Some(round);
                }
                None => state.left.push(call),
            }
        }
    }

    fn best_place(&mut self, state: &State, call: usize) -> Option<(usize, usize)> {
        let task = self.task;
        let own = &task.calls[call];
        let mut best: Option<(f64, usize, usize)> = None;
        // Empty rounds of one day are alike.
        let mut empty_day = usize::MAX;
        for (number, round) in state.rounds.iter().enumerate() {
            let day = number / task.cars;
            let Some(dislike) = own.days[day] else { continue };
            if round.is_empty() {
                if empty_day == day {
                    continue;
                }
                empty_day = day;
            }
            let room = task.limit - state.load[number] - own.minutes;
            for at in 0..=round.len() {
                let before = at.checked_sub(1).map(|at| round[at]);
                let behind = round.get(at).copied();
                if task.by_class
                    && (before.is_some_and(|other| task.calls[other].class > own.class)
                        || behind.is_some_and(|other| task.calls[other].class < own.class))
                {
                    continue;
                }
                let more = self.drive(before, Some(call)) + self.drive(Some(call), behind) - self.drive(before, behind);
                if more > room + 1e-9 || best.is_some_and(|(held, ..)| more + dislike >= held) {
                    continue;
                }
                if best.is_some() && self.random.random_bool(BLINK) {
                    continue;
                }
                best = Some((more + dislike, number, at));
            }
        }
        best.map(|(_, round, at)| (round, at))
    }
}

/// Rounds for a task. Fails only when cancelled.
pub fn schedule(task: &Task, progress: &dyn Progress) -> Result<Schedule, Cancelled> {
    let calls = task.calls.len();
    let rounds = task.days * task.cars;
    let near = (0..calls).map(|a| {
        let mut others: Vec<usize> = (0..calls).collect();
        others.sort_by(|b, c| task.drive[a + 1][b + 1].total_cmp(&task.drive[a + 1][c + 1]).then(b.cmp(c)));
        others
    });
    let mut search = Search { task, near: near.collect(), random: ChaCha8Rng::seed_from_u64(0) };
    let mut here = State {
        rounds: vec![Vec::new(); rounds],
        load: vec![0.0; rounds],
        of: vec![None; calls],
        left: (0..calls).collect(),
    };
    search.recreate(&mut here);
    let mut best = here.clone();
    let (mut cost, mut least) = (search.cost(&here), search.cost(&here));
    let tries = if calls == 0 { 0 } else { (TRIES_A_CALL * calls).clamp(TRIES[0], TRIES[1]) };
    let cooling = (HEAT[1] / HEAT[0]).powf(1.0 / tries.max(1) as f64);
    let mut heat = HEAT[0];
    for step in 0..tries {
        if step % 1000 == 0 {
            progress.check(step, tries)?;
        }
        let mut next = here.clone();
        search.ruin(&mut next);
        search.recreate(&mut next);
        let found = search.cost(&next);
        let chance: f64 = search.random.random_range(1e-12..1.0);
        if found < cost - heat * chance.ln() {
            (here, cost) = (next, found);
            if cost < least - 1e-9 {
                (best, least) = (here.clone(), cost);
            }
        }
        heat *= cooling;
    }
    progress.step(tries, tries);
    best.left.sort_unstable();
    Ok(Schedule { rounds: best.rounds, left: best.left })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::progress::Quiet;
    use crate::season::rounds::task::Call;

    /// Calls at places in a plane, a metre a minute, base at the origin.
    fn task(places: &[(f64, f64)], days: usize, limit: f64) -> Task {
        let all: Vec<(f64, f64)> = std::iter::once((0.0, 0.0)).chain(places.iter().copied()).collect();
        let drive = all.iter().map(|a| all.iter().map(|b| (a.0 - b.0).hypot(a.1 - b.1)).collect()).collect();
        let call = || Call { minutes: 10.0, days: vec![Some(0.0); days], class: 0, worth: 1.0 };
        Task { calls: places.iter().map(|_| call()).collect(), drive, days, cars: 1, limit, by_class: false }
    }

    #[test]
    fn two_clusters_make_two_rounds() {
        let places = [(100.0, 0.0), (100.0, 10.0), (110.0, 0.0), (-100.0, 0.0), (-100.0, 10.0), (-110.0, 0.0)];
        let task = task(&places, 2, 280.0);
        let found = schedule(&task, &Quiet).unwrap();
        assert_eq!(task.fault(&found), None);
        assert!(found.left.is_empty());
        let mut rounds: Vec<Vec<usize>> = found
            .rounds
            .iter()
            .map(|round| {
                let mut round = round.clone();
                round.sort_unstable();
                round
            })
            .collect();
        rounds.sort();
        assert_eq!(rounds, [vec![0, 1, 2], vec![3, 4, 5]]);
        assert_eq!(found, schedule(&task, &Quiet).unwrap(), "the same each time");
    }

    #[test]
    fn what_does_not_fit_is_left_and_worth_decides() {
        let mut task = task(&[(100.0, 0.0), (-100.0, 0.0)], 1, 230.0);
        task.calls[1].worth = 50.0;
        let found = schedule(&task, &Quiet).unwrap();
        assert_eq!((found.left.as_slice(), found.rounds[0].as_slice()), ([0].as_slice(), [1].as_slice()));
        assert_eq!(schedule(&Task { calls: vec![], drive: vec![vec![0.0]], ..task }, &Quiet).unwrap().left.len(), 0);
    }

    #[test]
    fn cleanest_first_costs_driving_but_holds() {
        let places = [(10.0, 0.0), (20.0, 0.0), (30.0, 0.0), (40.0, 0.0)];
        let mut task = task(&places, 1, 1000.0);
        let free = task.driving_of(&schedule(&task, &Quiet).unwrap());
        for (call, class) in task.calls.iter_mut().zip([3, 0, 2, 0]) {
            call.class = class;
        }
        task.by_class = true;
        let found = schedule(&task, &Quiet).unwrap();
        assert_eq!((task.fault(&found), found.left.len()), (None, 0));
        assert!(task.driving_of(&found) >= free && (free - 80.0).abs() < 1e-9);
        let classes: Vec<usize> = found.rounds[0].iter().map(|call| task.calls[*call].class).collect();
        assert_eq!(classes, [0, 0, 2, 3]);
    }
}
