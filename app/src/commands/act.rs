//! What is planned against grass weeds in fields, and the programmes it is taken from.

use std::collections::BTreeSet;

use awn_core::model::{FieldId, FieldProgramme, FieldProgrammeId, Programme, ProgrammeId, Record, Records};
use awn_core::project::{Command, Edit};
use awn_core::units::count;

/// Puts a programme on fields for a harvest, or takes what is planned away (none); with `measures`, those besides, else the measures
/// that are planned stay.
pub fn put_programme(
    records: &Records,
    fields: &BTreeSet<FieldId>,
    year: i32,
    programme: Option<ProgrammeId>,
    measures: Option<&[String]>,
) -> Command {
    let name = programme.and_then(|id| records.programmes.get(&id)).map(|programme| programme.name.as_str());
    let on = count(fields.len(), "field");
    let title = name.map_or_else(|| format!("Plan no programme in {on}"), |name| format!("Put {name} on {on}"));
    let mut edit = Edit::new(records, title);
    for field in fields {
        let held = records.field_programme(*field, year).map(|held| (**held).clone());
        let measures = measures.map(<[String]>::to_vec);
        let measures = measures.or_else(|| held.as_ref().map(|held| held.measures.clone())).unwrap_or_default();
        let id = held.as_ref().map_or_else(FieldProgrammeId::new, |held| held.id);
        let planned =
            Record::FieldProgramme(FieldProgramme { id, field: *field, year, programme, measures: measures.clone() });
        match (programme, measures.is_empty()) {
            (None, true) => edit.remove(&planned),
            _ => edit.put(planned),
        }
    }
    edit.done()
}

/// A copy of a programme under a name that is not taken yet.
pub fn copy_programme(records: &Records, programme: &Programme) -> Programme {
    let names = std::iter::once(format!("{}, copy", programme.name))
        .chain((2..).map(|number| format!("{}, copy {number}", programme.name)));
    let name = names.into_iter().find(|name| records.programme_named(name).is_none()).unwrap_or_default();
    Programme { id: ProgrammeId::new(), name, ..programme.clone() }
}

/// Removes a programme, and takes it away from the fields it is planned in.
pub fn remove_programme(records: &Records, programme: &Programme) -> Command {
    let mut edit = Edit::new(records, format!("Remove {}", programme.name));
    for planned in records.field_programmes.values().filter(|planned| planned.programme == Some(programme.id)) {
        if planned.measures.is_empty() {
            edit.remove(&Record::FieldProgramme((**planned).clone()));
        } else {
            edit.put(Record::FieldProgramme(FieldProgramme { programme: None, ..(**planned).clone() }));
        }
    }
    edit.remove(&Record::Programme(programme.clone()));
    edit.done()
}
