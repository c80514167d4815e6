//! The fields that an argument names.

use std::sync::Arc;

use anyhow::bail;
use awn_core::model::{Field, FieldId, GateId, Records};
use awn_core::units::count;

/// The one field of a name in a harvest year; without a year, in any.
pub fn named(records: &Records, name: &str, year: Option<i32>) -> anyhow::Result<Arc<Field>> {
    let found = records.fields_named(name, year);
    match found.as_slice() {
        [] => {
            let when = year.map_or_else(String::new, |year| format!(" in harvest {year}"));
            bail!("there is no field “{name}”{when}; awn fields lists them")
        }
        [one] => Ok(one.clone()),
        several => {
            let names: Vec<_> = several.iter().map(|field| format!("{}/{}", records.farm_name(field), field.name)).collect();
            bail!("“{name}” is the name of {}; write {}", count(several.len(), "field"), names.join(" or "))
        }
    }
}

/// The gate of a name in a field.
pub fn gate(records: &Records, field: FieldId, name: &str) -> anyhow::Result<GateId> {
    let gates: Vec<_> = records.gates_of(field).collect();
    if let Some(gate) = gates.iter().find(|gate| awn_core::model::same_name(&gate.name, name)) {
        return Ok(gate.id);
    }
    let names: Vec<_> = gates.iter().map(|gate| format!("“{}”", gate.name)).collect();
    bail!("the field has no gate “{name}”; it has {}", if names.is_empty() { "none".into() } else { names.join(", ") })
}
