//! Moving the chosen samples on, several at once.

use awn_core::model::Stage;
use awn_core::samples::Line;
use awn_core::units::count;
use egui::{ComboBox, RichText, Ui};

use crate::gui::action::Action;
use crate::gui::ctx::Ctx;
use crate::gui::style;
use crate::gui::view::samples::SamplesView;
use crate::gui::widgets::{action_button, line_to_type, note, section, small};

/// Shows what can be said of the chosen samples.
pub fn show(ui: &mut Ui, ctx: &Ctx<'_>, lines: &[Line], wanted: &mut SamplesView) {
    let chosen: Vec<&Line> = lines.iter().filter(|line| wanted.chosen.contains(&line.sample.id)).collect();
    section(ui, &format!("{} chosen", count(chosen.len(), "sample")));
    for wrong in &wanted.wrong {
        ui.label(RichText::new(wrong).size(style::SMALL).color(style::of(ui).bad));
    }
    let Some(target) = wanted.target(lines) else {
        note(ui, "Nothing follows for them: they are reported, lost or withdrawn.");
        buttons(ui, ctx, wanted);
        return;
    };
    ui.horizontal(|ui| {
        let label = ui.label(small(ui, "They were")).id;
        let shown = ComboBox::from_id_salt("stage").width(140.0).selected_text(target.label()).show_ui(ui, |ui| {
            for stage in Stage::ALL.iter().copied().filter(|stage| *stage != Stage::Planned) {
                if ui.selectable_label(stage == target, stage.label()).on_hover_text(stage.meaning()).clicked() {
                    wanted.to = Some(stage);
                }
            }
        });
        shown.response.labelled_by(label);
    });
    ui.columns(2, |columns| {
        if let [left, right] = columns {
            line_to_type(left, "On the day", &mut wanted.date, "such as 2027-07-14");
            line_to_type(right, "By", &mut wanted.person, "name");
        }
    });
    let hint = match target {
        Stage::Withdrawn => "why; it stays in the list with this reason",
        Stage::Posted => "the carrier's number, if there is one",
        _ => "what is worth knowing",
    };
    line_to_type(ui, if target == Stage::Withdrawn { "Reason" } else { "Note" }, &mut wanted.note, hint);
    if target == Stage::Collected {
        ui.columns(3, |columns| {
            if let [one, two, three] = columns {
                line_to_type(one, "Seed, mugs", &mut wanted.mugs, "1");
                line_to_type(two, "Shed, %", &mut wanted.shed, "15");
                line_to_type(three, "Stands for, %", &mut wanted.stands_for, "of field");
            }
        });
        line_to_type(ui, "Weather", &mut wanted.weather, "dry, light wind");
        note(
            ui,
            "Empty lines leave what is known as it is. “Stands for” is the share of the field that the sampled plants stand for.",
        );
    }
    buttons(ui, ctx, wanted);
}

fn buttons(ui: &mut Ui, ctx: &Ctx<'_>, wanted: &mut SamplesView) {
    ui.add_space(style::STEP);
    ui.horizontal_wrapped(|ui| {
        action_button(ui, ctx, Action::MoveSamples);
        action_button(ui, ctx, Action::SamplesBack);
        if ui.button("Choose none").clicked() {
            wanted.chosen.clear();
            wanted.to = None;
            wanted.wrong.clear();
        }
    });
}
