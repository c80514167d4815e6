//! What lies in a field changed by hand: each function says what becomes of the records, under its name for the undo menu.

use awn_core::land::Ground;
use awn_core::model::{Field, FieldId, Gate, GateId, NoGo, NoGoId, Record, Records, Tramlines};
use geo::{Coord, MultiPolygon};

fn name_of(records: &Records, field: FieldId) -> &str {
    records.fields.get(&field).map_or("", |field| field.name.as_str())
}

/// A new gate.
pub fn add_gate(records: &Records, field: FieldId, at: Coord<f64>) -> Ground {
    let number = records.gates_of(field).count();
    let name = if number == 0 { String::new() } else { format!("Gate {}", number + 1) };
    let gate = Gate { id: GateId::new(), field, name, position: at };
    Ground { name: format!("Add gate to {}", name_of(records, field)), put: vec![Record::Gate(gate)], remove: vec![] }
}

/// A gate at another place.
pub fn move_gate(records: &Records, gate: &Gate, at: Coord<f64>) -> Ground {
    let moved = Gate { position: at, ..gate.clone() };
    Ground { name: format!("Move gate of {}", name_of(records, gate.field)), put: vec![Record::Gate(moved)], remove: vec![] }
}

/// A gate less.
pub fn remove_gate(records: &Records, gate: &Gate) -> Ground {
    let name = format!("Remove gate of {}", name_of(records, gate.field));
    Ground { name, put: vec![], remove: vec![Record::Gate(gate.clone())] }
}

/// A new area without stops and paths.
pub fn add_no_go(records: &Records, field: FieldId, area: MultiPolygon<f64>) -> Ground {
    let area = NoGo { id: NoGoId::new(), field, reason: String::new(), area };
    Ground { name: format!("Add no-go area to {}", name_of(records, field)), put: vec![Record::NoGo(area)], remove: vec![] }
}

/// A no-go area less.
pub fn remove_no_go(records: &Records, area: &NoGo) -> Ground {
    let name = format!("Remove no-go area of {}", name_of(records, area.field));
    Ground { name, put: vec![], remove: vec![Record::NoGo(area.clone())] }
}

/// A set of tramlines: a new one, or one changed. `alone` takes all others of the field away.
pub fn lay_tramlines(records: &Records, lines: &Tramlines, alone: bool) -> Ground {
    let others = records.tramlines_of(lines.field).filter(|other| alone && other.id != lines.id);
    Ground {
        name: format!("Lay tramlines in {}", name_of(records, lines.field)),
        remove: others.map(|other| Record::Tramlines((**other).clone())).collect(),
        put: vec![Record::Tramlines(lines.clone())],
    }
}

/// A set of tramlines less.
pub fn remove_tramlines(records: &Records, lines: &Tramlines) -> Ground {
    let name = format!("Remove tramlines of {}", name_of(records, lines.field));
    Ground { name, put: vec![], remove: vec![Record::Tramlines(lines.clone())] }
}

/// A boundary of another shape.
pub fn reshape(records: &Records, field: FieldId, boundary: MultiPolygon<f64>) -> Option<Ground> {
    let held = records.fields.get(&field)?;
    let record = Record::Field(Field { boundary, ..(**held).clone() });
    Some(Ground { name: format!("Reshape {}", held.name), put: vec![record], remove: vec![] })
}
