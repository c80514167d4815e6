//! Classes by what is left of the planned programmes: control, or money at risk.

use std::collections::BTreeMap;
use std::sync::Arc;

use crate::act::{self, FieldCheck, LETTERS, Tested};
use crate::model::{Field, FieldId, Records};
use crate::report::Colouring;
use crate::report::classes::{Class, Key, Over};
use crate::report::palette;

/// Classes and looks of the fields. Limits of money are those over all fields of the year, as in the window.
pub fn key(records: &Records, year: i32, colouring: Colouring, fields: &[Arc<Field>]) -> Key {
    let checks = act::check(records, year, None, None);
    let limits = act::money_limits(checks.fields.iter().map(|check| check.at_risk_per_ha.likely));
    let money = colouring == Colouring::AtRisk;
    let currency = &records.settings.act.currency;
    let words = |class: usize| if money { act::money_words(class, &limits, currency) } else { act::control_words(class) };
    let colours = if money { palette::AT_RISK } else { palette::CONTROL_LEFT };
    let mut classes = vec![Class::new("n.t.", "no step tested: nothing known", palette::GROUND, Over::WideHatch)];
    classes.extend((0..5).rev().map(|class| Class::new(LETTERS[class], words(class), colours[class], Over::Nothing)));
    classes.push(Class::new("–", "no programme planned", palette::RAISED, Over::Nothing));
    let heading = if money { "Money at risk a hectare" } else { "Control left of the planned programme" };
    let mut key = Key::new(heading, classes);
    key.overlays.push((Over::Stipple, "some steps not tested".to_owned()));
    let of: BTreeMap<FieldId, &FieldCheck> = checks.fields.iter().map(|check| (check.field, check)).collect();
    for field in fields {
        let Some(check) = of.get(&field.id) else {
            key.put(field, 6, Over::Nothing, "–".to_owned());
            continue;
        };
        if check.tested == Tested::None {
            key.put(field, 0, Over::WideHatch, "n.t.".to_owned());
            continue;
        }
        let class = if money {
            act::money_class(check.at_risk_per_ha.likely, &limits)
        } else {
            act::control_class(check.control.likely)
        };
        let over = if check.tested == Tested::Partly { Over::Stipple } else { Over::Nothing };
        key.put(field, 5 - class, over, LETTERS[class].to_owned());
    }
    key.sources.push(act::NEVER.to_owned());
    key.drop_empty();
    key
}
