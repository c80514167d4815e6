//! Commands on the project that the command line and the window share.

use awn_core::model::{Plan, Record, Records};
use awn_core::project::{Command, Edit};
use awn_core::units::count;

/// The command that keeps plans: each in the place of the one in use of its field and year, or beside it if it is set aside.
pub fn keep_plans(records: &Records, plans: &[Plan]) -> Command {
    let name = match plans {
        [one] => {
            let field = records.fields.get(&one.field).map_or("", |field| field.name.as_str());
            format!("Propose stops for {field}")
        }
        many => format!("Propose stops for {}", count(many.len(), "field")),
    };
    let mut edit = Edit::new(records, name);
    for plan in plans {
        for old in records
            .plans
            .values()
            .filter(|old| old.field == plan.field && old.year == plan.year && !old.set_aside && !plan.set_aside)
        {
            edit.remove(&Record::Plan((**old).clone()));
        }
        edit.put(Record::Plan(plan.clone()));
    }
    edit.done()
}
