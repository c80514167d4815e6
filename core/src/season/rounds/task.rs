//! The bare task behind rounds: calls to make, days to make them on, minutes between them.

/// A place to call at.
#[derive(Debug, Clone, PartialEq)]
pub struct Call {
    /// Minutes there.
    pub minutes: f64,
    /// By day: what choosing it costs in minutes, small, so that of days that are as good for the driving the better one is
    /// taken; none: not on this day.
    pub days: Vec<Option<f64>>,
    /// Class by which the calls of a round are ordered, lowest first, if the task asks for that.
    pub class: usize,
    /// What leaving it out costs, above 0; 1 is usual.
    pub worth: f64,
}

/// Calls to assign to rounds: one round for each day and car, each from the base and back to it within the limit.
#[derive(Debug, Clone, PartialEq)]
pub struct Task {
    /// The calls.
    pub calls: Vec<Call>,
    /// Minutes from place to place, symmetric: 0 is the base, then the calls in order.
    pub drive: Vec<Vec<f64>>,
    /// Number of days.
    pub days: usize,
    /// Cars, each of which makes one round a day.
    pub cars: usize,
    /// Most minutes of a round, driving and calls.
    pub limit: f64,
    /// Whether classes must not fall along a round.
    pub by_class: bool,
}

/// Calls assigned to rounds.
#[derive(Debug, Clone, PartialEq)]
pub struct Schedule {
    /// By day and car (number = day x cars + car) the calls in order.
    pub rounds: Vec<Vec<usize>>,
    /// Calls that fit nowhere.
    pub left: Vec<usize>,
}

impl Task {
    /// Minutes of driving of a round, from the base and back.
    pub fn driving(&self, round: &[usize]) -> f64 {
        let mut here = 0;
        let mut sum = 0.0;
        for call in round {
            sum += self.drive[here][call + 1];
            here = call + 1;
        }
        sum + self.drive[here][0]
    }

    /// Minutes of driving of all rounds.
    pub fn driving_of(&self, schedule: &Schedule) -> f64 {
        schedule.rounds.iter().map(|round| self.driving(round)).sum()
    }

    /// The first rule that a schedule breaks, if any: for tests and as a last look before it is shown.
    pub fn fault(&self, schedule: &Schedule) -> Option<String> {
        let mut seen = vec![0_usize; self.calls.len()];
        for call in schedule.rounds.iter().flatten().chain(&schedule.left) {
            *seen.get_mut(*call)? += 1;
        }
        if let Some(call) = seen.iter().position(|times| *times != 1) {
            return Some(format!("call {call} stands {} times", seen[call]));
        }
        for (number, round) in schedule.rounds.iter().enumerate() {
            let day = number / self.cars.max(1);
            let work: f64 = round.iter().map(|call| self.calls[*call].minutes).sum();
            if !round.is_empty() && self.driving(round) + work > self.limit + 1e-6 {
                return Some(format!("round {number} is too long"));
            }
            if let Some(call) = round.iter().find(|call| self.calls[**call].days.get(day).copied().flatten().is_none()) {
                return Some(format!("call {call} is on the wrong day"));
            }
            if self.by_class && !round.is_sorted_by_key(|call| self.calls[*call].class) {
                return Some(format!("round {number} is out of order"));
            }
        }
        None
    }
}
