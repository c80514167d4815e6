//! Scenarios checked and made ready: what each crop year means for the model.

use crate::act::outlook::crops::{KnownCrop, Sown, crop, crop_day, crops};
use crate::act::outlook::parameters::{Key, Values};
use crate::act::outlook::seedbank::Rates;
use crate::model::{Cultivation, LowLikelyHigh, Scenario, ScenarioYear};
use crate::problem::Problems;

/// So many scenarios are compared at most.
pub const MOST_SCENARIOS: usize = 4;
/// So many crop years a scenario has at most.
pub const MOST_YEARS: usize = 20;
/// A usual stand of wheat, plants/m2, from which more or fewer are counted (common practice, no source).
pub const USUAL_STAND: f64 = 200.0;
/// Stands between which the effect of the crop's plants was seen, plants/m2 (Lutman et al. 2013).
const STANDS: (f64, f64) = (100.0, 350.0);

/// A crop year that was checked.
#[derive(Debug, Clone, PartialEq)]
pub struct ReadyYear {
    /// As it was given.
    pub given: ScenarioYear,
    /// The crop.
    pub crop: &'static KnownCrop,
    /// How late it is drilled: 0 until 15 September, 1 from 31 October on, in proportion to the days between; 0 for other
    /// crops than those of autumn.
    pub lateness: f64,
    /// Which yield is given up to that date; wheat only.
    pub late_yield: Option<Key>,
    /// Hundreds of wheat plants/m2 more than the usual stand.
    pub more_plants: f64,
}

/// A scenario that was checked.
#[derive(Debug, Clone, PartialEq)]
pub struct Ready {
    /// Its name.
    pub name: String,
    /// Its crop years.
    pub years: Vec<ReadyYear>,
}

impl Ready {
    /// The crop year `index` years after the first, going through them again and again.
    pub fn year(&self, index: usize) -> &ReadyYear {
        &self.years[index % self.years.len()]
    }
}

/// Checks a scenario; none if there is an error in `problems`.
pub fn ready(scenario: &Scenario, problems: &mut Problems) -> Option<Ready> {
    let place = format!("scenario “{}”", scenario.name);
    let mut found = Problems::new();
    if scenario.name.trim().is_empty() {
        found.error("a scenario", "it has no name.", "Give it one.");
    }
    if scenario.years.is_empty() || scenario.years.len() > MOST_YEARS {
        let what = format!("it has {} crop years.", scenario.years.len());
        found.error(&place, what, format!("Give it 1 to {MOST_YEARS}; they are gone through again and again."));
    }
    let mut years = Vec::new();
    for (number, year) in (1..).zip(&scenario.years) {
        let place = format!("{place}, year {number} ({})", year.crop.trim());
        years.extend(ready_year(&place, year, &mut found));
    }
    let is_sound = !found.has_errors();
    problems.extend(found);
    is_sound.then(|| Ready { name: scenario.name.clone(), years })
}

fn ready_year(place: &str, year: &ScenarioYear, problems: &mut Problems) -> Option<ReadyYear> {
    percentages(place, "control", year.control, problems);
    if let Some(removed) = year.heads_removed {
        percentages(place, "the share of heads taken out", removed, problems);
    }
    if year.cost_per_ha.is_some_and(|cost| !cost.is_finite() || cost < 0.0) {
        problems.error(place, "its cost is no amount of money.", "Give 0 or more a hectare, or leave it empty.");
    }
    if year.crop_plants_m2.is_some_and(|plants| !(10.0..=1000.0).contains(&plants)) {
        problems.error(place, "a crop has no such number of plants a m2.", "Give 10 to 1000, or leave it empty.");
    }
    let Some(known) = crop(&year.crop) else {
        let names: Vec<_> = crops().iter().map(|crop| crop.name).collect();
        let what = format!("“{}” is no crop that outlooks know.", year.crop.trim());
        problems.error(place, what, format!("Use one of: {}.", names.join(", ")));
        return None;
    };
    let day = match (&year.drilled, known.days) {
        (_, None) => None,
        (None, Some(_)) if known.sown == Sown::Spring => None,
        (None, Some(_)) => {
            let hint = "Give month and day, such as 10-05: it decides how much of the weed comes up before.";
            problems.error(place, "it has no day of drilling.", hint);
            return None;
        }
        (Some(text), Some((first, last))) => match crop_day(text) {
            Some(day) if (first..=last).contains(&day) => Some(day),
            Some(_) => {
                let what = format!("{} is not drilled on {}.", known.name, day_in_words(text));
                let hint = format!("Give a day from {} to {}.", written(first), written(last));
                problems.error(place, what, hint);
                return None;
            }
            None => {
                problems.error(place, format!("“{text}” is no day."), "Give month and day, such as 10-05.");
                return None;
            }
        },
    };
    let autumn = day.filter(|_| known.sown == Sown::Autumn);
    let between = |from: &str, to: &str, day: i32| {
        let (from, to) = (crop_day(from).unwrap_or_default(), crop_day(to).unwrap_or_default());
        (f64::from(day - from) / f64::from(to - from)).clamp(0.0, 1.0)
    };
    let from = |text: &str| crop_day(text).unwrap_or_default();
    let late_yield = autumn.filter(|_| known.name == "winter wheat").and_then(|day| match day {
        day if day >= from("12-01") => Some(Key::LateDecember),
        day if day >= from("11-01") => Some(Key::LateNovember),
        day if day >= from("10-01") => Some(Key::LateOctober),
        _ => None,
    });
    let more_plants = year.crop_plants_m2.map_or(0.0, |plants| (plants.clamp(STANDS.0, STANDS.1) - USUAL_STAND) / 100.0);
    Some(ReadyYear {
        given: year.clone(),
        crop: known,
        lateness: autumn.map_or(0.0, |day| between("09-15", "10-31", day)),
        late_yield,
        more_plants,
    })
}

fn percentages(place: &str, what: &str, range: LowLikelyHigh, problems: &mut Problems) {
    if !range.is_ordered() {
        let what = format!("the values of {what} do not rise: {}, {}, {}.", range.low, range.likely, range.high);
        problems.error(place, what, "Give the least, the likely and the greatest value in %.");
    } else if range.low < 0.0 || range.high > 100.0 {
        let worst = if range.high > 100.0 { range.high } else { range.low };
        problems.error(place, format!("{what} is {worst} %."), "It lies from 0 to 100 %.");
    }
}

/// "5 October" of "10-05".
fn day_in_words(text: &str) -> String {
    crop_day(text).map_or_else(|| text.to_owned(), written)
}

/// "5 October" of a day of the crop year.
fn written(day: i32) -> String {
    let first = jiff::civil::date(2026, 7, 1);
    first.saturating_add(jiff::Span::new().days(day)).strftime("%-d %B").to_string()
}

impl ReadyYear {
    /// What holds in a field in this year, for one draw of the parameters; `control` and `heads_removed` as shares.
    pub fn rates(&self, values: &Values, control: f64, heads_removed: f64) -> Rates {
        let of = |key| values.of(key);
        let (buries, brings_up) = match self.given.cultivation {
            Cultivation::Plough => (of(Key::PloughBuries), of(Key::PloughBringsUp)),
            Cultivation::Deep => (of(Key::DeepBuries), of(Key::DeepBringsUp)),
            Cultivation::Shallow => (of(Key::ShallowBuries), of(Key::ShallowBringsUp)),
            Cultivation::DirectDrill => (0.0, 0.0),
        };
        let before_drilling = match self.crop.sown {
            Sown::Autumn => self.lateness * of(Key::DrilledLate),
            Sown::Spring => of(Key::SpringSown),
            Sown::None => 0.0,
        };
        let control = if self.crop.sown == Sown::None { of(Key::NoCrop) } else { control };
        let thicker = (1.0 - of(Key::CropPlants)).powf(self.more_plants);
        let stronger = if self.given.competitive { 1.0 - of(Key::Competitive) } else { 1.0 };
        Rates {
            buries,
            brings_up,
            emerge: of(Key::Emerge),
            before_drilling,
            control,
            heads_a_plant: of(Key::HeadsAPlant),
            greatest_heads: of(Key::GreatestHeads),
            crowded: if self.crop.sown == Sown::None { 0.0 } else { 1.0 - thicker * stronger },
            heads_removed,
            seeds_a_head: of(Key::SeedsAHead),
            returned: of(Key::Returned),
            viable: of(Key::Viable),
            survive: of(Key::Survive),
            decline: of(Key::Decline),
        }
    }

    /// Whether there is a crop to sell.
    pub fn is_sold(&self) -> bool {
        self.crop.sown != Sown::None
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::ScenarioId;

    fn year(crop: &str, drilled: &str) -> ScenarioYear {
        let drilled = Some(drilled.to_owned()).filter(|day| !day.is_empty());
        ScenarioYear { crop: crop.into(), drilled, ..ScenarioYear::default() }
    }

    fn of(years: Vec<ScenarioYear>) -> Scenario {
        Scenario { id: ScenarioId::new(), name: "As now".into(), note: String::new(), years }
    }

    #[test]
    fn days_of_drilling_count_from_mid_september_to_the_end_of_october() {
        let years = ["09-10", "09-15", "10-08", "10-31", "01-20"].map(|day| year("winter wheat", day)).to_vec();
        let ready = ready(&of(years), &mut Problems::new()).unwrap();
        let late: Vec<f64> = ready.years.iter().map(|year| year.lateness).collect();
        assert_eq!(late, [0.0, 0.0, 0.5, 1.0, 1.0]);
        let yields: Vec<_> = ready.years.iter().map(|year| year.late_yield).collect();
        assert_eq!(yields, [None, None, Some(Key::LateOctober), Some(Key::LateOctober), Some(Key::LateDecember)]);
        assert_eq!(ready.year(6).given.drilled.as_deref(), Some("09-15"));
    }

    #[test]
    fn what_cannot_be_is_named_with_place_and_remedy() {
        let mut over = year("winter wheat", "10-05");
        over.control = LowLikelyHigh::new(80.0, 95.0, 104.0);
        let mut falling = year("spring barley", "");
        falling.control = LowLikelyHigh::new(80.0, 70.0, 90.0);
        falling.cost_per_ha = Some(-3.0);
        let years = vec![
            over,
            falling,
            year("spring barley", "10-05"),
            year("wheat", ""),
            year("winter beans", ""),
            year("fallow", ""),
        ];
        let mut problems = Problems::new();
        assert!(ready(&of(years), &mut problems).is_none());
        let said: Vec<String> = problems.errors().map(ToString::to_string).collect();
        let expected = [
            "year 1 (winter wheat): control is 104 %. It lies from 0 to 100 %.",
            "year 2 (spring barley): the values of control do not rise: 80, 70, 90.",
            "year 2 (spring barley): its cost is no amount of money.",
            "year 3 (spring barley): spring barley is not drilled on 5 October. Give a day from 15 January to 15 May.",
            "year 4 (wheat): “wheat” is no crop that outlooks know. Use one of: winter wheat,",
            "year 5 (winter beans): it has no day of drilling.",
        ];
        assert_eq!(said.len(), expected.len(), "{said:#?}");
        for (said, expected) in said.iter().zip(expected) {
            assert!(said.contains(expected), "{said}\n{expected}");
        }
        assert!(ready(&of(vec![]), &mut Problems::new()).is_none());
    }
}
