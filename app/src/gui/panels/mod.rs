//! The panels, one file each. They draw from [`Ctx`] and ask by [`Request`](crate::gui::request::Request); none knows another.

mod act;
mod chooser;
mod due;
mod field_list;
mod field_page;
mod fields;
mod history;
mod import;
mod notices;
mod pages;
mod palette;
mod problems;
mod report;
mod results;
mod ripe;
mod samples;
mod scout;
mod season;
mod start;
mod top_bar;
mod walk;

use egui::{Panel, ScrollArea, Ui};

use crate::gui::ctx::Ctx;
use crate::gui::map::{DensityLayer, Layers};
use crate::gui::style;
use crate::gui::view::Lens;

pub use chooser::show as chooser;
pub use notices::show as notices;
pub use pages::show as pages;
pub use palette::show as palette;
pub use start::show as start;

/// Shows every panel round the map.
pub fn around_map(ui: &mut Ui, ctx: &Ctx<'_>, layers: &Layers<'_>) {
    let tokens = style::of(ui);
    let frame = egui::Frame::new().fill(tokens.panel).inner_margin(egui::Margin::symmetric(12, 8));
    Panel::top("top bar").frame(frame).exact_size(style::TOP_BAR).show(ui, |ui| top_bar::show(ui, ctx));
    Panel::bottom("season")
        .frame(frame.inner_margin(egui::Margin::symmetric(12, 4)))
        .exact_size(season::HEIGHT + 8.0)
        .show(ui, |ui| season::show(ui, ctx, crate::gui::jobs::work::today()));
    if ctx.view.problems_open && !ctx.problems.is_empty() {
        let sizes = 96.0..=360.0;
        Panel::bottom("problems").frame(frame).resizable(true).default_size(184.0).size_range(sizes).show(ui, |ui| {
            problems::show(ui, ctx);
        });
    }
    if ctx.view.open.history {
        let sizes = 120.0..=480.0;
        Panel::bottom("history").frame(frame).resizable(true).default_size(220.0).size_range(sizes).show(ui, |ui| {
            history::show(ui, ctx);
        });
    }
    let narrow = ui.available_width() < style::NARROW;
    let roomy = ui.available_width() >= style::ROOMY;
    let (list, list_name) = match (narrow, roomy) {
        (true, _) => (184.0, "short list"),
        (_, true) => (style::LIST_WIDTH + style::MORE_ROOM, "roomy field list"),
        _ => (style::LIST_WIDTH, "field list"),
    };
    Panel::left(list_name)
        .frame(frame)
        .resizable(true)
        .default_size(list)
        .size_range(160.0..=(0.42 * ui.ctx().content_rect().width()).clamp(161.0, 560.0))
        .show(ui, |ui| field_list::show(ui, ctx, narrow));
    let comparing = ctx.view.lens == Lens::Walk && ctx.view.walk.comparing && ctx.single_plan().is_some();
    let (name, width) = match ctx.view.lens {
        _ if ctx.view.form.is_some() => ("lens", style::LENS_WIDTH),
        Lens::Results | Lens::Act if roomy => ("roomy lens", style::WIDE_LENS_WIDTH + style::MORE_ROOM),
        Lens::Results | Lens::Act => ("wide lens", style::WIDE_LENS_WIDTH),
        Lens::Samples => ("samples lens", style::SAMPLES_WIDTH),
        Lens::Walk if comparing => ("comparing lens", style::COMPARING_WIDTH),
        _ => ("lens", style::LENS_WIDTH),
    };
    Panel::right(name)
        .frame(frame)
        .resizable(true)
        .default_size(width)
        // The map keeps room for its legend, however small the window.
        .size_range(280.0..=(ui.available_width() - style::LEAST_MAP).clamp(281.0, 640.0))
        .show(ui, |ui| lens(ui, ctx, layers.density));
}

fn lens(ui: &mut Ui, ctx: &Ctx<'_>, density: Option<&DensityLayer>) {
    if let Some(form) = &ctx.view.form {
        ScrollArea::vertical().id_salt("import").auto_shrink(false).show(ui, |ui| import::show(ui, ctx, form));
        return;
    }
    // A spray or crop of the page of a field is being typed.
    if ctx.view.lens == Lens::Fields && act::typing(ui, ctx) {
        return;
    }
    match ctx.view.lens {
        Lens::Results => results::show(ui, ctx),
        Lens::Samples => samples::show(ui, ctx),
        Lens::Act => act::show(ui, ctx),
        lens => {
            ScrollArea::vertical().id_salt(("lens", lens as u8)).auto_shrink(false).show(ui, |ui| match lens {
                Lens::Scout => scout::show(ui, ctx, density),
                Lens::Walk => walk::show(ui, ctx),
                Lens::Report => report::show(ui, ctx),
                _ => fields::show(ui, ctx),
            });
        }
    }
}
