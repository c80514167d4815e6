//! A stop that follows the pointer: the plan is worked out for where it is, and kept when it is let go.

use std::sync::Arc;

use awn_core::model::{Plan, Record};
use awn_core::project::Edit as EditOf;

use crate::gui::app::App;
use crate::gui::document::Edit;
use crate::gui::jobs::kind::JobKind;
use crate::gui::jobs::work;
use crate::gui::view::Drag;

impl App {
    pub(in crate::gui) fn drag(&mut self, plan: awn_core::model::PlanId, stop: usize, at: geo::Coord<f64>) {
        match &mut self.state.view.drag {
            Some(drag) if drag.plan.id == plan && !drag.released => drag.at = at,
            Some(_) => {}
            None => {
                let Some(plan) = self.records().and_then(|records| records.plans.get(&plan)).cloned() else { return };
                self.state.view.selected = [plan.field].into();
                self.state.view.stop = Some(stop);
                self.state.view.drag = Some(Drag { plan, stop, at, asked: None, preview: None, released: false });
            }
        }
    }

    /// Works out the plan for where the dragged stop is now, one place at a time.
    pub(in crate::gui) fn follow_drag(&mut self) -> bool {
        let Some(document) = &self.state.document else { return false };
        let Some(drag) = &mut self.state.view.drag else { return false };
        if drag.asked == Some(drag.at) || self.jobs.is_running(JobKind::Adjust) {
            return false;
        }
        drag.asked = Some(drag.at);
        let (records, plan, stop, at) = (document.records.clone(), drag.plan.clone(), drag.stop, drag.at);
        self.jobs.start(JobKind::Adjust, "Moving the stop", false, move |_| work::adjust(&records, &plan, stop, at));
        true
    }

    pub(in crate::gui) fn adjusted(&mut self, at: geo::Coord<f64>, plan: Result<Box<Plan>, String>) {
        let Some(drag) = &mut self.state.view.drag else { return };
        // At a place where no stop can be, the last good plan stays on show.
        if let Ok(plan) = plan {
            drag.preview = Some((at, Arc::from(plan)));
        }
        self.settle_drag();
    }

    /// Once the stop has been let go and its place worked out, keeps the plan, or puts the stop back.
    pub(in crate::gui) fn settle_drag(&mut self) {
        let (Some(drag), Some(document)) = (&self.state.view.drag, &self.state.document) else { return };
        if !drag.released || drag.asked != Some(drag.at) || self.jobs.is_running(JobKind::Adjust) {
            return;
        }
        let Some((_, plan)) = drag.preview.as_ref().filter(|(at, _)| *at == drag.at) else {
            self.state.view.drag = None;
            return self.say("No stop can be there; it went back to its place.".to_owned(), false);
        };
        let records = &document.records;
        let field = records.fields.get(&drag.plan.field).map_or("", |field| field.name.as_str());
        let mut edit = EditOf::new(records, format!("Move stop {} of {field}", drag.stop + 1));
        edit.put(Record::Plan((**plan).clone()));
        let command = edit.done();
        if command.changes.is_empty() {
            self.state.view.drag = None;
        } else {
            self.edit(Edit::Apply(command, None));
        }
    }
}
