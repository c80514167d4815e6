//! What the coming season asks for: fields due a test, most urgent first, with their plans and the days that matter.

use crate::model::{Plan, Records};
use crate::report::content::land::FieldLine;
use crate::season::{Calendar, calendar};

/// A plan on a line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PlanLine {
    /// Stops.
    pub stops: usize,
    /// Samples that their seed is put into.
    pub samples: usize,
    /// Metres on foot, of all people together.
    pub length_m: f64,
    /// Minutes until the last one is back.
    pub minutes: f64,
}

impl PlanLine {
    pub(super) fn of(plan: &Plan) -> Self {
        Self { stops: plan.stops.len(), samples: plan.samples(), length_m: plan.length_m(), minutes: plan.minutes() }
    }
}

/// What the coming season asks for.
#[derive(Debug, Clone, PartialEq)]
pub struct SeasonPlan {
    /// Its harvest year.
    pub year: i32,
    /// The days that its work hangs on.
    pub calendar: Option<Calendar>,
    /// Fields that are due, by number in the lines, the most urgent first.
    pub due: Vec<usize>,
    /// Fields with a plan that are not due.
    pub also: Vec<usize>,
    /// Stops of all plans.
    pub stops: usize,
    /// Samples of all plans.
    pub samples: usize,
    /// Metres on foot in all fields.
    pub length_m: f64,
    /// Minutes in all fields, one after the other.
    pub minutes: f64,
}

/// The season that comes: that of the year, or of the next one once there are results from the year's samples.
pub(super) fn coming(records: &Records, year: i32) -> i32 {
    let tested = records.results.values().any(|result| records.samples.get(&result.sample).is_some_and(|s| s.year >= year));
    if tested { year + 1 } else { year }
}

pub(super) fn plan(year: i32, lines: &[FieldLine]) -> SeasonPlan {
    let mut due: Vec<usize> = (0..lines.len()).filter(|at| lines[*at].due).collect();
    due.sort_by_key(|at| lines[*at].rank);
    let also = (0..lines.len()).filter(|at| !lines[*at].due && lines[*at].plan.is_some()).collect();
    let plans = || lines.iter().filter_map(|line| line.plan);
    SeasonPlan {
        year,
        calendar: calendar(year),
        due,
        also,
        stops: plans().map(|plan| plan.stops).sum(),
        samples: plans().map(|plan| plan.samples).sum(),
        length_m: plans().map(|plan| plan.length_m).sum(),
        minutes: plans().map(|plan| plan.minutes).sum(),
    }
}
