//! Dose-response curves of a sample and its standard, with the doses that halve the plants.

use std::sync::Arc;

use awn_core::model::SampleId;
use awn_core::rating::{self, DoseResponse, Population};
use egui::{Align2, Color32, FontId, Pos2, Rect, Role, Sense, Stroke, Ui, WidgetInfo, pos2, vec2};

use crate::gui::ctx::Ctx;
use crate::gui::style;
use crate::gui::widgets::{note, section};

/// Height of the plot.
const HEIGHT: f32 = 150.0;

/// Shows the curves of a sample and active, if it was tested at several doses.
pub fn show(ui: &mut Ui, ctx: &Ctx<'_>, sample: SampleId, active: &str) {
    let Some(found) = response_of(ui, ctx, sample, active) else { return };
    section(ui, "Dose and response");
    let rings = if found.standard.is_some() { " Filled: the sample; rings: the susceptible standard." } else { "" };
    note(ui, format!("Up: response in % of untreated. Across: dose in {}.{rings}", found.unit));
    plot(ui, &found);
    for line in words(&found) {
        note(ui, line);
    }
}

/// The curves of a sample, worked out once for each state of the records.
fn response_of(ui: &Ui, ctx: &Ctx<'_>, sample: SampleId, active: &str) -> Option<Arc<DoseResponse>> {
    type Held = (usize, SampleId, String, Option<Arc<DoseResponse>>);
    let id = egui::Id::unique("dose response");
    // Facts are made anew whenever the records change.
    let facts = std::ptr::from_ref(ctx.facts) as usize;
    let held = ui.data(|data| data.get_temp::<Held>(id));
    if let Some((of, held_sample, held_active, found)) = held
        && (of, held_sample, held_active.as_str()) == (facts, sample, active)
    {
        return found;
    }
    let found = rating::dose_response(ctx.records, sample, active).map(Arc::new);
    ui.data_mut(|data| data.insert_temp::<Held>(id, (facts, sample, active.to_owned(), found.clone())));
    found
}

/// What the curves say.
fn words(found: &DoseResponse) -> Vec<String> {
    let of = |name: &str, population: &Population| match &population.curve {
        Some(curve) => {
            let (half, most) = (curve.effective_dose(50.0), curve.effective_dose(90.0));
            format!(
                "{name}: half at {:.3} {unit} ({:.3} to {:.3}), nine tenths at {:.3} ({:.3} to {:.3}); {} parameters.",
                half.value,
                half.interval[0],
                half.interval[1],
                most.value,
                most.interval[0],
                most.interval[1],
                curve.shape.parameters(),
                unit = found.unit
            )
        }
        None => format!("{name}: no curve fits these doses."),
    };
    let mut lines = vec![of("Sample", &found.own)];
    lines.extend(found.standard.as_ref().map(|standard| of("Standard", standard)));
    lines.extend(found.factor.map(|factor| {
        format!(
            "Resistance factor: {:.1} ({:.1} to {:.1}) times the standard's dose for half.",
            factor.value, factor.interval[0], factor.interval[1]
        )
    }));
    lines
}

/// From dose and response to the screen: doses by their logarithm, untreated plants at the left edge.
struct Scale {
    rect: Rect,
    logs: [f64; 2],
    top: f64,
}

impl Scale {
    fn of(found: &DoseResponse, rect: Rect) -> Self {
        let points = || found.own.points.iter().chain(found.standard.iter().flat_map(|standard| &standard.points));
        let doses = points().map(|point| point.0).filter(|dose| *dose > 0.0);
        let (low, high) = doses.fold((f64::INFINITY, 0.0_f64), |(low, high), dose| (low.min(dose), high.max(dose)));
        let top = points().map(|point| point.1).fold(110.0, f64::max);
        Self { rect, logs: [low.ln() - 0.8, high.ln() + 0.2], top }
    }

    fn at(&self, dose: f64, response: f64) -> Pos2 {
        let log = if dose > 0.0 { dose.ln() } else { self.logs[0] };
        let across = ((log - self.logs[0]) / (self.logs[1] - self.logs[0])) as f32;
        let up = (response / self.top).clamp(0.0, 1.0) as f32;
        pos2(self.rect.left() + across * self.rect.width(), self.rect.bottom() - up * self.rect.height())
    }
}

fn plot(ui: &mut Ui, found: &DoseResponse) {
    let (whole, response) = ui.allocate_exact_size(vec2(ui.available_width(), HEIGHT), Sense::hover());
    let tokens = style::of(ui);
    let painter = ui.painter().with_clip_rect(whole.intersect(ui.clip_rect()));
    let scale = Scale::of(found, Rect::from_min_max(whole.min + vec2(36.0, 6.0), whole.max - vec2(8.0, 20.0)));
    let font = FontId::proportional(11.0);
    painter.rect_stroke(scale.rect, 0.0, Stroke::new(1.0, tokens.line), egui::StrokeKind::Inside);
    for percent in [0.0, 50.0, 100.0] {
        let at = scale.at(0.0, percent);
        painter.line_segment([at, pos2(scale.rect.right(), at.y)], Stroke::new(0.5, tokens.line));
        painter.text(at - vec2(4.0, 0.0), Align2::RIGHT_CENTER, format!("{percent:.0}"), font.clone(), tokens.muted);
    }
    let mut doses: Vec<f64> = found.own.points.iter().map(|point| point.0).collect();
    doses.dedup();
    // Doses close to each other would be written over each other: those that do not fit are left out.
    let mut free_from = f32::NEG_INFINITY;
    for dose in doses {
        let at = pos2(scale.at(dose, 0.0).x, scale.rect.bottom());
        painter.line_segment([at, at + vec2(0.0, 3.0)], Stroke::new(1.0, tokens.line));
        let words = painter.layout_no_wrap(format!("{dose}"), font.clone(), tokens.muted);
        let left = at.x - 0.5 * words.size().x;
        if left > free_from {
            free_from = left + words.size().x + 4.0;
            painter.galley(pos2(left, at.y + 4.0), words, tokens.muted);
        }
    }
    if let Some(standard) = &found.standard {
        population(&painter, &scale, standard, tokens.muted, false);
    }
    population(&painter, &scale, &found.own, tokens.ink, true);
    let said = format!("Response in % of untreated by dose in {}: {}", found.unit, words(found).join(" "));
    response.widget_info(|| WidgetInfo::labeled(Role::Image, true, &said));
    response.on_hover_text("Response in % of untreated, by dose. Filled: the sample; rings: the susceptible standard.");
}

fn population(painter: &egui::Painter, scale: &Scale, population: &Population, colour: Color32, filled: bool) {
    if let Some(curve) = &population.curve {
        let [from, to] = scale.logs;
        let step = (to - from) / 80.0;
        let line: Vec<Pos2> = (0..=80)
            .map(|i| {
                let dose = (from + step * f64::from(i)).exp();
                scale.at(dose, curve.at(dose))
            })
            .collect();
        painter.line(line, Stroke::new(1.6, colour));
    }
    for (dose, response) in &population.points {
        let at = scale.at(*dose, *response);
        if filled {
            painter.circle_filled(at, 3.0, colour);
        } else {
            painter.circle_stroke(at, 3.0, Stroke::new(1.2, colour));
        }
    }
}
