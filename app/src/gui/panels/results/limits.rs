//! What the trade leaves open in rating results: whether RR and RRR must differ from the standard, and which standard is expected.

use awn_core::model::ResultSettings;
use egui::{RichText, Ui};

use crate::gui::ctx::Ctx;
use crate::gui::request::Request;
use crate::gui::style;
use crate::gui::widgets::{note, small, typed};

/// Shows the settings; every change is a step of the history.
pub fn show(ui: &mut Ui, ctx: &Ctx<'_>) {
    let held = &ctx.records.settings.results;
    let mut wanted = held.clone();
    ui.add_enabled_ui(ctx.can_write(), |ui| {
        let text = RichText::new("RR and RRR must differ from the standard").color(style::of(ui).ink);
        ui.checkbox(&mut wanted.must_differ, text).on_hover_text(
            "Dunnett's test on the pots, one-sided, P up to 0.05: what does not differ is R? at most. Results without pots are rated by the limits alone.",
        );
        ui.horizontal(|ui| {
            let [low, high] = &mut wanted.expected_standard;
            ui.label(small(ui, "Standard expected"));
            percent(ui, low, "Lowest expected standard");
            ui.label(small(ui, "to"));
            percent(ui, high, "Highest expected standard");
            ui.label(small(ui, "%"));
            let usual = ResultSettings::default();
            if wanted.expected_standard != usual.expected_standard || wanted.must_differ != usual.must_differ {
                let [low, high] = usual.expected_standard;
                let tip = format!("Back to {low:.0} to {high:.0} %, by the limits alone.");
                if ui.small_button("Reset").on_hover_text(tip).clicked() {
                    (wanted.expected_standard, wanted.must_differ) = (usual.expected_standard, usual.must_differ);
                }
            }
        });
    });
    note(
        ui,
        "Outside it ratings are marked as doubtful. Limits are 0.90, 0.80 and 0.40 of the standard of the same test (Moss et al. 1999).",
    );
    wanted.expected_standard.sort_by(f64::total_cmp);
    if wanted != *held {
        ctx.ask(Request::SetResultSettings(wanted));
    }
}

/// A percentage in place; what is no number from 0 to 100 leaves it as it was.
fn percent(ui: &mut Ui, value: &mut f64, name: &str) {
    ui.scope(|ui| {
        ui.set_width(56.0);
        let typed =
            typed(ui, "standard", name, &format!("{value:.0}"), 1, "").and_then(|text| text.trim().parse::<f64>().ok());
        if let Some(number) = typed.filter(|number| (0.0..=100.0).contains(number)) {
            *value = number;
        }
    });
}
