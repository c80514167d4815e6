//! What a budget pays for, what it leaves out, and what that costs in knowledge.

use std::collections::BTreeMap;

use crate::model::{DensityUnit, DueRules, FieldId, Records};
use crate::season::due::Due;
use crate::units::{count, ha};

/// How much may be tested.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Budget {
    /// Most samples; none: no limit.
    pub samples: Option<usize>,
    /// Most money, in the currency of the price.
    pub money: Option<f64>,
    /// Price of the tests of one sample.
    pub price: f64,
}

impl Budget {
    /// The budget that the settings hold.
    pub fn of(rules: &DueRules) -> Self {
        Self { samples: rules.samples, money: rules.money, price: rules.price }
    }

    /// The most samples it pays for; none: no limit. Fails if money is given without a price.
    pub fn most(&self) -> Result<Option<usize>, String> {
        let Some(money) = self.money else { return Ok(self.samples) };
        if !(self.price > 0.0 && self.price.is_finite()) {
            return Err("a budget in money needs the price of a sample's tests, above 0".to_owned());
        }
        if !(money >= 0.0 && money.is_finite()) {
            return Err("a budget in money is 0 or more".to_owned());
        }
        // A price that goes into the money exactly must not lose a sample to rounding.
        let paid = (money / self.price + 1e-9).floor() as usize;
        Ok(Some(self.samples.map_or(paid, |samples| samples.min(paid))))
    }
}

/// What stays unknown in the fields that a budget leaves out.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Left {
    /// Fields that are due and left out, most urgent first.
    pub fields: Vec<FieldId>,
    /// Their area, m2.
    pub area_m2: f64,
    /// How many of them were never tested.
    pub never_tested: usize,
    /// Harvests since the last test, added up over those that were tested.
    pub years: i32,
    /// Share of the weed's population of the year's scouted fields that stands in them, 0 to 1, by the unit it was counted in.
    pub population: Vec<(DensityUnit, f64)>,
    /// The same in words.
    pub words: String,
}

/// What a budget pays for.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Spent {
    /// Fields to test, in the order of the list.
    pub fields: Vec<FieldId>,
    /// Samples they take.
    pub samples: usize,
    /// What they cost; none: no price is set.
    pub cost: Option<f64>,
    /// The most samples the budget pays for; none: no limit.
    pub most: Option<usize>,
    /// Fields that are due and not paid for.
    pub left: Left,
    /// What is odd about the budget, if anything.
    pub note: Option<String>,
}

/// Goes down a list of fields, most urgent first and pinned ones before all, and takes each whose samples the budget still pays
/// for; a field that needs more is passed over for the next. Fails as [`Budget::most`] does.
pub fn spend(records: &Records, list: &[Due], budget: Budget) -> Result<Spent, String> {
    let most = budget.most()?;
    let mut spent = Spent { most, ..Spent::default() };
    let mut left = Vec::new();
    let mut pins_left = 0;
    for due in list.iter().filter(|due| due.due) {
        if most.is_none_or(|most| spent.samples + due.samples <= most) {
            spent.samples += due.samples;
            spent.fields.push(due.field);
        } else {
            pins_left += usize::from(due.is_pinned());
            left.push(due);
        }
    }
    spent.cost = (budget.price > 0.0).then_some(spent.samples as f64 * budget.price);
    spent.left = cost_in_knowledge(records, list, &left);
    spent.note = (pins_left > 0)
        .then(|| format!("{} not paid for: raise the budget or let go of pins.", count(pins_left, "pinned field")));
    Ok(spent)
}

fn cost_in_knowledge(records: &Records, list: &[Due], left: &[&Due]) -> Left {
    let area = |due: &Due| records.fields.get(&due.field).map_or(0.0, |field| field.area_m2());
    let mut all: BTreeMap<&'static str, (DensityUnit, f64)> = BTreeMap::new();
    let population = |due: &Due| due.seen.as_ref().and_then(|seen| Some((seen.unit, seen.mean? * area(due))));
    for (unit, plants) in list.iter().filter_map(population) {
        all.entry(unit.label()).or_insert((unit, 0.0)).1 += plants;
    }
    let missed = |unit: DensityUnit| -> f64 {
        left.iter().filter_map(|due| population(due)).filter(|(other, _)| *other == unit).map(|(_, plants)| plants).sum()
    };
    let mut out = Left {
        fields: left.iter().map(|due| due.field).collect(),
        area_m2: left.iter().map(|due| area(due)).sum(),
        never_tested: left.iter().filter(|due| due.age.is_none()).count(),
        years: left.iter().filter_map(|due| due.age).sum(),
        population: all.values().filter(|(_, all)| *all > 0.0).map(|(unit, all)| (*unit, missed(*unit) / all)).collect(),
        words: String::new(),
    };
    out.words = words(&out);
    out
}

fn words(left: &Left) -> String {
    let fields = left.fields.len();
    if fields == 0 {
        return "Every field that is due is tested.".to_owned();
    }
    let mut text = format!("Left out: {}, {} ha.", count(fields, "field"), ha(left.area_m2));
    let tested = fields - left.never_tested;
    if left.never_tested > 0 {
        let of = if tested > 0 { format!("{} of them", left.never_tested) } else { "They".to_owned() };
        text.push_str(&format!(" {of} stay unknown: never tested."));
    }
    if tested > 0 {
        let mean = f64::from(left.years) / tested as f64;
        let of = if left.never_tested > 0 { format!("The other {tested}") } else { "They".to_owned() };
        text.push_str(&format!(" {of} go on with knowledge {mean:.1} harvests old on average."));
    }
    for (unit, share) in left.population.iter().filter(|(_, share)| *share > 0.0) {
        let what = if *unit == DensityUnit::HeadsPerM2 { "heads" } else { "plants" };
        text.push_str(&format!(" {:.0} % of all {what} that scouting counted stand in them.", 100.0 * share));
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn money_pays_for_whole_samples() {
        let budget = |money, price| Budget { samples: None, money: Some(money), price };
        assert_eq!(budget(0.3, 0.1).most(), Ok(Some(3)), "0.3 / 0.1 is 2.9999999999999996");
        assert_eq!(budget(999.0, 250.0).most(), Ok(Some(3)));
        assert_eq!(Budget { samples: Some(2), ..budget(999.0, 250.0) }.most(), Ok(Some(2)));
        assert!(budget(100.0, 0.0).most().is_err() && budget(-1.0, 5.0).most().is_err());
        assert_eq!(Budget::default().most(), Ok(None));
    }
}
