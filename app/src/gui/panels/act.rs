//! The Act lens: what is left of the planned programmes, what it costs, and what else could be done. Consequences, never a
//! recommendation; every page says so.

mod entry;
mod field;
mod history;
mod money;
mod order;
mod outlook;
mod programmes;
mod table;

use awn_core::act;
use awn_core::exchange::Treatment;
use awn_core::model::{FieldId, Record};
use awn_core::units;
use egui::{Align, Label, Layout, Panel, Response, ScrollArea, Ui, WidgetText, vec2};

use crate::gui::action::Action;
use crate::gui::ctx::Ctx;
use crate::gui::request::Request;
use crate::gui::view::act::{ActRequest, ActTab, ActView, Entry};
use crate::gui::widgets::{head, next_step, small};

/// Shows the panel.
pub fn show(ui: &mut Ui, ctx: &Ctx<'_>) {
    Panel::bottom("act cautions").show_separator_line(false).show(ui, |ui| {
        let lines: Vec<&str> = act::CAUTIONS.into_iter().chain(act::ASSUMPTIONS).collect();
        let text = small(ui, format!("{} (more on hover)", act::NEVER));
        ui.label(text).on_hover_text(lines.join("\n"));
    });
    let view = &ctx.view.act;
    if let Some(form) = &view.table {
        return scrolled(ui, "table", |ui| table::show(ui, ctx, view, form));
    }
    if let Some(typed) = &view.entry {
        return entry::show(ui, ctx, view, typed);
    }
    if let Some(draft) = &view.draft {
        return programmes::draft(ui, ctx, view, draft);
    }
    head(ui, "Act", "What still earns its money in each field, and what else could be done.");
    next(ui, ctx);
    let mut wanted = view.clone();
    ui.horizontal_wrapped(|ui| {
        for tab in ActTab::ALL {
            if ui.selectable_label(wanted.tab == tab, tab.label()).clicked() {
                wanted.tab = tab;
            }
        }
    });
    ui.separator();
    match view.tab {
        ActTab::Money => match ctx.view.single().filter(|field| ctx.facts.row(*field).is_some()) {
            Some(field) => scrolled(ui, "field", |ui| field::show(ui, ctx, field, &mut wanted)),
            None => money::show(ui, ctx),
        },
        ActTab::Programmes => scrolled(ui, "programmes", |ui| programmes::show(ui, ctx, &mut wanted)),
        ActTab::History => history::show(ui, ctx, &mut wanted),
        ActTab::Order => scrolled(ui, "order", |ui| order::show(ui, ctx)),
        ActTab::Years => scrolled(ui, "years", |ui| outlook::show(ui, ctx)),
        ActTab::Patches => scrolled(ui, "patches", |ui| outlook::show_patches(ui, ctx)),
    }
    ask(ctx, wanted);
}

/// The form in which a spray or crop is being typed; false if none is.
pub fn typing(ui: &mut Ui, ctx: &Ctx<'_>) -> bool {
    let view = &ctx.view.act;
    view.entry.as_ref().map(|typed| entry::show(ui, ctx, view, typed)).is_some()
}

/// Opens that form for a spray or crop that is known.
pub fn change(ctx: &Ctx<'_>, record: &Record) {
    let field = match record {
        Record::Spray(spray) => spray.field,
        Record::Crop(crop) => crop.field,
        _ => return,
    };
    let name = field_of(ctx, field);
    ask(ctx, ActView { entry: Entry::of(record, &name), ..ctx.view.act.clone() });
}

/// Opens that form for a new one.
pub fn type_one(ctx: &Ctx<'_>, kind: Treatment, field: Option<FieldId>) {
    let name = field.map(|field| field_of(ctx, field));
    ask(ctx, ActView { entry: Some(Entry::new(kind, name.as_deref(), ctx.view.year)), ..ctx.view.act.clone() });
}

/// The field as the form names it.
fn field_of(ctx: &Ctx<'_>, field: FieldId) -> String {
    ctx.facts.row(field).map_or_else(String::new, |row| format!("{}/{}", row.farm, row.name))
}

fn scrolled(ui: &mut Ui, name: &str, add: impl FnOnce(&mut Ui)) {
    ScrollArea::vertical().id_salt(("act", name)).auto_shrink(false).show(ui, add);
}

/// What the figures of a programme rest on, in short; in full on hover.
fn assumed(ui: &mut Ui) {
    let text = small(
        ui,
        "Assumed: control falls as the sample's reduction fell beside the standard's, and steps work independently (Gowing 1960; Colby \
         1967). Expected control and cost are your figures. In brackets 8 draws in 10.",
    );
    ui.label(text).on_hover_text(act::ASSUMPTIONS.join("\n"));
}

/// Asks for another state of the lens, if it is another.
fn ask(ctx: &Ctx<'_>, wanted: ActView) {
    if wanted != ctx.view.act {
        ctx.ask(Request::Act(ActRequest::Show(Box::new(wanted))));
    }
}

/// A cell of a grid: as wide as said, text from the left, cut short where there is no room.
fn cell(ui: &mut Ui, width: f32, text: impl Into<WidgetText>) -> Response {
    let layout = Layout::left_to_right(Align::Center);
    let shown = ui.allocate_ui_with_layout(vec2(width, 20.0), layout, |ui| {
        ui.set_min_width(width);
        ui.set_max_width(width);
        ui.add(Label::new(text).truncate())
    });
    shown.inner
}

/// The one next thing to do.
fn next(ui: &mut Ui, ctx: &Ctx<'_>) {
    let checks = &ctx.facts.act.checks;
    if ctx.records.programmes.is_empty() {
        next_step(ui, ctx, Action::ImportProgrammes, "Import programmes…");
    } else if checks.fields.is_empty() {
        let fields = if ctx.view.selected.is_empty() { ctx.facts.rows.len() } else { ctx.view.selected.len() };
        let text = format!("Plan a programme in {} for harvest {}", units::count(fields, "field"), ctx.view.year);
        next_step(ui, ctx, Action::PlanProgrammes, &text);
    } else {
        next_step(ui, ctx, Action::ChooseWorst, "Look at the field with most money at risk");
    }
}
