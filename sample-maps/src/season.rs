//! What the user of the sample farm noted in early July of the season: how much seed had shed in some fields, one field that must
//! be tested and one that must not.

use awn_core::model::{DueMark, DueMarkId, FieldId, Mark, Record, Records, RipeCheck, RipeCheckId};
use awn_core::project::Edit;
use jiff::civil::date;

use crate::SEASON;
use crate::dice::Dice;
use crate::weeds::Weed;

/// Days of July on which somebody went round, and the share of the infested fields looked at.
const WALKS: [(i8, f64); 3] = [(1, 0.25), (5, 0.3), (8, 0.3)];
/// Half of the seed has shed on this day of July in the typical field of this year: a little late.
const MIDDLE: f64 = 31.5;
/// Slope a day of the logistic curve, and days by which fields differ.
const SLOPE: f64 = 0.115;
const BETWEEN: f64 = 2.5;
/// The field that a new tenant wants tested, and the one that cannot be entered.
const PINNED: &str = "Warping";
const VETOED: &str = "Stack Garth";

/// Adds the notes on fields, given with their weeds in the order of the land.
pub fn notes<'a>(edit: &mut Edit<'_>, records: &Records, fields: impl Iterator<Item = (FieldId, &'a str, &'a Weed)>) {
    for (number, (field, name, weed)) in fields.enumerate() {
        let mut dice = Dice::new(2_400 + number as u64);
        let middle = MIDDLE + BETWEEN * dice.normal();
        let known = records.ripe_checks.values().any(|check| check.field == field);
        for (day, share) in WALKS {
            let looked = dice.chance(share);
            let shed = 100.0 / (1.0 + libm::exp(-SLOPE * (f64::from(day) - middle)));
            let read = (shed + 2.0 * dice.normal()).max(0.0);
            // By eye people say 1, 2, 5 or 10 %.
            let said = if read < 4.0 { libm::round(read) } else { 5.0 * libm::round(read / 5.0) };
            if looked && !weed.hills.is_empty() && !known {
                edit.put(Record::RipeCheck(RipeCheck {
                    id: RipeCheckId::new(),
                    field,
                    date: date(SEASON as i16, 7, day),
                    species: "ALOMY".to_owned(),
                    shed_percent: said,
                    who: "farm walk".to_owned(),
                }));
            }
        }
        let mark = match name {
            PINNED => Some((Mark::Pinned, "the new tenant asks for it")),
            VETOED => Some((Mark::Vetoed, "drains are being laid until August")),
            _ => None,
        };
        if let Some((mark, reason)) = mark.filter(|_| records.due_mark(field, SEASON).is_none()) {
            let id = DueMarkId::new();
            edit.put(Record::DueMark(DueMark { id, field, year: SEASON, mark, reason: reason.to_owned() }));
        }
    }
}
