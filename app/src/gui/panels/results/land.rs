//! The land of each farm by the latest rating, for every mode of action: shares of what was tested, and what never was.

use awn_core::model::{Rating, mode_of_group};
use awn_core::rating::LandByClass;
use awn_core::units;
use egui::{Rect, RichText, Role, ScrollArea, Sense, Stroke, Ui, WidgetInfo, pos2, vec2};

use crate::gui::ctx::Ctx;
use crate::gui::style;
use crate::gui::widgets::{note, small};

/// Height of a bar.
const BAR: f32 = 18.0;

/// Shows every farm; of chosen fields only their farms.
pub fn show(ui: &mut Ui, ctx: &Ctx<'_>) {
    note(ui, "Tested land by the latest rating, in % of what was tested; all fields of a farm, whatever is chosen.");
    let chosen: std::collections::BTreeSet<&str> =
        ctx.view.selected.iter().filter_map(|id| ctx.facts.row(*id)).map(|row| row.farm.as_str()).collect();
    ScrollArea::vertical().id_salt("land").auto_shrink(false).show(ui, |ui| {
        let shown = ctx.facts.land.iter().filter(|(farm, _)| chosen.is_empty() || chosen.contains(farm.as_str()));
        for (farm, groups) in shown {
            ui.add_space(style::STEP);
            ui.label(RichText::new(farm).font(style::bold_of(style::BODY)));
            let mut order: Vec<_> = groups.iter().collect();
            order.sort_by_key(|(group, _)| (group.parse::<u32>().unwrap_or(u32::MAX), group.as_str()));
            for (group, land) in order {
                line(ui, farm, group, land);
            }
        }
    });
}

fn line(ui: &mut Ui, farm: &str, group: &str, land: &LandByClass) {
    let tokens = style::of(ui);
    let name = mode_of_group(group).map_or_else(|| format!("HRAC {group}"), |mode| format!("HRAC {group} {}", mode.name));
    let mut figures = format!("{} ha tested", units::ha(land.tested()));
    if land.by_laboratory_m2 > 0.0 {
        figures.push_str(&format!(", {} by the laboratory's rating", units::ha(land.by_laboratory_m2)));
    }
    if land.untested_m2 > 0.0 {
        figures.push_str(&format!(", {} never", units::ha(land.untested_m2)));
    }
    ui.horizontal(|ui| {
        ui.label(RichText::new(&name).size(style::SMALL));
        let text = small(ui, &figures);
        ui.with_layout(egui::Layout::right_to_left(egui::Align::Center), |ui| ui.label(text));
    });
    let (rect, response) = ui.allocate_exact_size(vec2(ui.available_width(), BAR), Sense::hover());
    let painter = ui.painter_at(rect);
    let mut left = rect.left();
    let mut said = Vec::new();
    for rating in Rating::ALL.into_iter().rev() {
        let Some(share) = land.share(rating).filter(|share| *share > 0.0) else { continue };
        let part = Rect::from_min_max(pos2(left, rect.top()), pos2(left + rect.width() * share as f32, rect.bottom()));
        let fill = style::rating_colour(rating);
        painter.rect_filled(part, 0.0, fill);
        let words = format!("{} {:.0} %", rating.label(), 100.0 * share);
        let galley = painter.layout_no_wrap(words.clone(), style::bold_of(11.0), style::text_on(fill));
        if galley.size().x + 4.0 < part.width() {
            painter.galley(part.center() - galley.size() / 2.0, galley, style::text_on(fill));
        }
        said.push(words);
        left = part.right();
    }
    if said.is_empty() {
        painter.text(
            rect.left_center() + vec2(6.0, 0.0),
            egui::Align2::LEFT_CENTER,
            "never tested: nothing known",
            egui::FontId::proportional(style::SMALL),
            tokens.muted,
        );
    }
    painter.rect_stroke(rect, 0.0, Stroke::new(1.0, tokens.ink), egui::StrokeKind::Inside);
    let said = if said.is_empty() { "never tested".to_owned() } else { said.join(", ") };
    let words = format!("{farm}, {name}: {said}; {figures}");
    response.widget_info(|| WidgetInfo::labeled(Role::Image, true, &words));
    response.on_hover_text(words);
}
