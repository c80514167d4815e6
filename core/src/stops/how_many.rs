//! How many stops: the most that fit a time on foot, the least that reach a target, or a look at all numbers.

use geo::Coord;

use crate::model::{FieldId, Figures, Method, Plan, PlanSettings, Records};
use crate::progress::{Progress, Quiet};
use crate::stops::ground::Ground;
use crate::stops::plan::{check, propose_on};
use crate::stops::{DEFINITIONS, PlanError};

/// No field is walked with more stops than this.
const MOST_STOPS: usize = 40;

/// A number of stops and what it comes to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Point {
    /// How many stops.
    pub stops: usize,
    /// The figures of the plan.
    pub figures: Figures,
    /// Minutes until the last one is back at the gate.
    pub minutes: f64,
}

/// A figure to reach.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Target {
    /// Balance B no greater.
    Balance(f64),
    /// Mean distance of the population to a stop no greater, m.
    WeightedDistance(f64),
    /// 95 % of the population within this of a stop, m.
    Distance95(f64),
    /// Share of the population within 25 m no less, 0 to 1.
    Within25(f64),
    /// Worth no fewer stops at random.
    RandomStops(f64),
    /// Chance of detection no less, 0 to 1.
    Detection(f64),
    /// Seeds as if independent, no fewer.
    EffectiveNumber(f64),
}

impl Target {
    /// The key of the figure, and the value to reach.
    pub fn parts(self) -> (&'static str, f64) {
        match self {
            Self::Balance(value) => ("balance", value),
            Self::WeightedDistance(value) => ("weighted_distance_m", value),
            Self::Distance95(value) => ("distance_95_m", value),
            Self::Within25(value) => ("population_within_25_m", value),
            Self::RandomStops(value) => ("random_stops", value),
            Self::Detection(value) => ("detection", value),
            Self::EffectiveNumber(value) => ("n_eff", value),
        }
    }

    /// The figure that the target speaks of.
    pub fn figure(self, figures: &Figures) -> f64 {
        match self {
            Self::Balance(_) => figures.balance,
            Self::WeightedDistance(_) => figures.weighted_distance_m,
            Self::Distance95(_) => figures.distance_95_m,
            Self::Within25(_) => figures.population_within_25_m,
            // Where all is alike, one stop is as good as any number.
            Self::RandomStops(_) => figures.random_stops.unwrap_or(f64::INFINITY),
            Self::Detection(_) => figures.detection,
            Self::EffectiveNumber(_) => figures.n_eff,
        }
    }

    /// Whether figures reach it.
    pub fn reached(self, figures: &Figures) -> bool {
        let (key, wanted) = self.parts();
        let smaller = DEFINITIONS.iter().any(|known| known.key == key && known.smaller_is_better == Some(true));
        let found = self.figure(figures);
        if smaller { found <= wanted } else { found >= wanted }
    }
}

impl std::str::FromStr for Target {
    type Err = String;

    /// `"detection=0.95"`, `"distance_95_m=40"`.
    fn from_str(text: &str) -> Result<Self, Self::Err> {
        let keys = "balance, weighted_distance_m, distance_95_m, population_within_25_m, random_stops, detection, n_eff";
        let hint = || format!("“{text}” is no target; write figure=value, such as detection=0.9, with one of {keys}");
        let (key, value) = text.split_once('=').ok_or_else(hint)?;
        let value: f64 = value.trim().parse().map_err(|_unreadable| hint())?;
        if !(value >= 0.0 && value.is_finite()) {
            return Err(hint());
        }
        Ok(match key.trim() {
            "balance" => Self::Balance(value),
            "weighted_distance_m" => Self::WeightedDistance(value),
            "distance_95_m" => Self::Distance95(value),
            "population_within_25_m" => Self::Within25(value),
            "random_stops" => Self::RandomStops(value),
            "detection" => Self::Detection(value),
            "n_eff" => Self::EffectiveNumber(value),
            _ => return Err(hint()),
        })
    }
}

/// What 1, 2, … `most` stops come to, from the number of pinned ones on (degrees); fewer where no more fit.
pub fn curve(
    records: &Records,
    field: FieldId,
    year: i32,
    settings: &PlanSettings,
    most: usize,
    pinned: &[Coord<f64>],
    progress: &dyn Progress,
) -> Result<Vec<Point>, PlanError> {
    check(settings)?;
    let ground = Ground::of(records, field, year, settings)?;
    let most = most.clamp(1, MOST_STOPS);
    let mut points = Vec::with_capacity(most);
    for stops in fewest(settings, pinned)..=most {
        progress.check(stops - 1, most)?;
        let plan = propose_on(&ground, year, &PlanSettings { stops, ..settings.clone() }, pinned, &Quiet)?;
        if plan.stops.len() < stops {
            break;
        }
        points.push(Point { stops, figures: plan.figures, minutes: plan.minutes() });
    }
    Ok(points)
}

/// The least number of stops to look at: even cover keeps all that are pinned, the other ways know no pins.
fn fewest(settings: &PlanSettings, pinned: &[Coord<f64>]) -> usize {
    if settings.method == Method::EvenCover { pinned.len().clamp(1, MOST_STOPS) } else { 1 }
}

/// The plan with the fewest stops that reaches a target; with the most stops that fit, and a note, if none does. Pinned stops,
/// degrees, stay where they are and count among them.
pub fn propose_for_target(
    records: &Records,
    field: FieldId,
    year: i32,
    settings: &PlanSettings,
    target: Target,
    pinned: &[Coord<f64>],
    progress: &dyn Progress,
) -> Result<Plan, PlanError> {
    check(settings)?;
    let ground = Ground::of(records, field, year, settings)?;
    let mut nearest: Option<Plan> = None;
    for stops in fewest(settings, pinned)..=MOST_STOPS {
        progress.check(stops - 1, MOST_STOPS)?;
        let plan = propose_on(&ground, year, &PlanSettings { stops, ..settings.clone() }, pinned, &Quiet)?;
        if target.reached(&plan.figures) {
            return Ok(plan);
        }
        if plan.stops.len() < stops {
            break;
        }
        nearest = Some(plan);
    }
    let mut plan = nearest.ok_or_else(|| ground.no_room())?;
    let (key, wanted) = target.parts();
    let name = DEFINITIONS.iter().find(|known| known.key == key).map_or(key, |known| known.name);
    let found = target.figure(&plan.figures);
    plan.notes.push(format!("No number of stops reaches “{name}” {wanted}; {} come to {found:.3}.", plan.stops.len()));
    Ok(plan)
}

/// The plan with the most stops whose walk takes no more than `minutes`. Pinned stops, degrees, stay where they are and count
/// among them.
///
/// The time grows with the number of stops, but not at every step, because a new plan may lie along a shorter walk: the
/// search halves the range, then tries the next numbers up, and keeps the largest that fits. When not even one stop fits, or the
/// pinned ones do not, the plan has these alone and a note that says so.
pub fn propose_within(
    records: &Records,
    field: FieldId,
    year: i32,
    settings: &PlanSettings,
    minutes: f64,
    pinned: &[Coord<f64>],
    progress: &dyn Progress,
) -> Result<Plan, PlanError> {
    if !(minutes > 0.0 && minutes.is_finite()) {
        return Err(PlanError::Settings(format!("{minutes} minutes is no time for a walk; give a number above 0")));
    }
    check(settings)?;
    let ground = Ground::of(records, field, year, settings)?;
    let plan_of = |stops: usize| propose_on(&ground, year, &PlanSettings { stops, ..settings.clone() }, pinned, progress);
    let fewest = fewest(settings, pinned);
    let mut best = plan_of(fewest)?;
    if best.minutes() > minutes {
        let what = match pinned.len() {
            _ if fewest == 1 => "Even one stop takes".to_owned(),
            pins => format!("The {pins} pinned stops alone take"),
        };
        best.notes.push(format!("{what} {:.0} minutes; {minutes:.0} were given.", best.minutes()));
        return Ok(best);
    }
    let (mut fits, mut too_many) = (fewest, MOST_STOPS + 1);
    while too_many - fits > 1 {
        let middle = usize::midpoint(fits, too_many);
        let plan = plan_of(middle)?;
        if plan.minutes() <= minutes {
            fits = middle;
            best = plan;
        } else {
            too_many = middle;
        }
    }
    for stops in too_many + 1..=(too_many + 2).min(MOST_STOPS) {
        let plan = plan_of(stops)?;
        if plan.minutes() <= minutes {
            best = plan;
        }
    }
    Ok(best)
}
