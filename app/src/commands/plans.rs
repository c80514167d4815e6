//! Plans kept, set aside, taken back into use.

use awn_core::model::{Plan, PlanId, Record, Records};
use awn_core::project::{Command, Edit};
use awn_core::units::count;

fn field_name<'a>(records: &'a Records, plan: &Plan) -> &'a str {
    records.fields.get(&plan.field).map_or("", |field| field.name.as_str())
}

/// The command that keeps plans: each in the place of the one in use of its field and year, or beside it if it is set aside.
pub fn keep_plans(records: &Records, plans: &[Plan]) -> Command {
    let name = match plans {
        [one] => format!("Propose stops for {}", field_name(records, one)),
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

/// A copy of a plan, kept beside the one in use to compare with.
pub fn set_aside(records: &Records, plan: &Plan) -> Command {
    let mut edit = Edit::new(records, format!("Set a plan of {} aside", field_name(records, plan)));
    edit.put(Record::Plan(Plan { id: PlanId::new(), set_aside: true, ..plan.clone() }));
    edit.done()
}

/// Takes a plan into use, one set aside or a new one; the one in use until now is set aside.
pub fn use_plan(records: &Records, plan: &Plan) -> Command {
    let mut edit = Edit::new(records, format!("Use another plan for {}", field_name(records, plan)));
    if let Some(old) = records.plan_of(plan.field, plan.year).filter(|old| old.id != plan.id) {
        edit.put(Record::Plan(Plan { set_aside: true, ..(**old).clone() }));
    }
    edit.put(Record::Plan(Plan { set_aside: false, ..plan.clone() }));
    edit.done()
}

/// Throws a plan away.
pub fn discard(records: &Records, plan: &Plan) -> Command {
    let mut edit = Edit::new(records, format!("Discard a plan of {}", field_name(records, plan)));
    edit.remove(&Record::Plan(plan.clone()));
    edit.done()
}
