//! As many stops as fit a time on foot.

use crate::model::{FieldId, Plan, PlanSettings, Records};
use crate::progress::Progress;
use crate::stops::{PlanError, propose};

/// No field is walked with more stops than this.
const MOST_STOPS: usize = 40;

/// The plan with the most stops whose walk takes no more than `minutes`.
///
/// The time grows with the number of stops, but not at every step, because a new plan may lie along a shorter walk: the
/// search halves the range, then tries the next numbers up, and keeps the largest that fits. When not even one stop fits, the
/// plan has one stop and a note that says so.
pub fn propose_within(
    records: &Records,
    field: FieldId,
    year: i32,
    settings: &PlanSettings,
    minutes: f64,
    progress: &dyn Progress,
) -> Result<Plan, PlanError> {
    if !(minutes > 0.0 && minutes.is_finite()) {
        return Err(PlanError::Settings(format!("{minutes} minutes is no time for a walk; give a number above 0")));
    }
    let plan_of = |stops: usize| propose(records, field, year, &PlanSettings { stops, ..settings.clone() }, progress);
    let mut best = plan_of(1)?;
    if best.walk.minutes > minutes {
        best.notes.push(format!("Even one stop takes {:.0} minutes; {minutes:.0} were given.", best.walk.minutes));
        return Ok(best);
    }
    let (mut fits, mut too_many) = (1, MOST_STOPS + 1);
    while too_many - fits > 1 {
        let middle = usize::midpoint(fits, too_many);
        let plan = plan_of(middle)?;
        if plan.walk.minutes <= minutes {
            fits = middle;
            best = plan;
        } else {
            too_many = middle;
        }
    }
    for stops in too_many + 1..=(too_many + 2).min(MOST_STOPS) {
        let plan = plan_of(stops)?;
        if plan.walk.minutes <= minutes {
            best = plan;
        }
    }
    Ok(best)
}
