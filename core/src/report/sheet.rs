//! The whole sheet: where map, legend and words go, and in which order they are drawn.

use std::sync::Arc;

use geo::{Coord, Rect};

use crate::model::{Field, Plan, Records};
use crate::report::classes::{self, Key};
use crate::report::draw::Scene;
use crate::report::furniture::{self, Sign};
use crate::report::panels::{Layout, Panel, lay_out};
use crate::report::svg::{self, Anchor, Type};
use crate::report::{Colouring, MapRequest, lettering, palette, patterns, walk_layer};

const MARGIN: f64 = 8.0;
const HEAD: f64 = 22.0;
/// Smallest side of a density cell on paper, mm.
const CELL_MM: f64 = 0.6;
/// Area of the sheet for which sizes of letters are given (A4), mm2.
const SHEET_MM2: f64 = 297.0 * 210.0;

/// The map as SVG text.
pub fn draw(records: &Records, request: &MapRequest) -> String {
    let (paper_width, paper_height) = paper(request.size_mm);
    // Letters grow with the sheet: everything is laid out on a sheet of A4's area, which the view box then stretches.
    let stretch = (paper_width * paper_height / SHEET_MM2).sqrt();
    let (width, height) = (paper_width / stretch, paper_height / stretch);
    let fields = fields(records, request);
    let upright = height > width;
    let body = if fields.is_empty() {
        nothing(request)
    } else {
        filled(records, request, &fields, (width, height), (upright, stretch))
    };
    let [w, h, paper_w, paper_h] = [width, height, paper_width, paper_height].map(svg::number);
    let back = svg::rect(svg::Box { x: 0.0, y: 0.0, width, height }, 0.0, palette::GROUND);
    let head = furniture::heading(&title(request, &fields), &belongs(records, request), MARGIN, width);
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{paper_w}mm\" height=\"{paper_h}mm\" viewBox=\"0 0 {w} {h}\" \
         font-family=\"{}\">\n{}{back}{head}{body}</svg>\n",
        lettering::FAMILY,
        patterns::definitions()
    )
}

/// A sheet size that can be drawn, mm; A4 lying down for sizes that are none.
pub fn paper((width, height): (f64, f64)) -> (f64, f64) {
    let side = |side: f64| side.is_finite() && side > 0.0;
    if side(width) && side(height) { (width.clamp(40.0, 2_000.0), height.clamp(40.0, 2_000.0)) } else { (297.0, 210.0) }
}

fn fields(records: &Records, request: &MapRequest) -> Vec<Arc<Field>> {
    let mut fields = match &request.fields {
        None => records.fields_in(request.year),
        Some(wanted) => wanted.iter().filter_map(|id| records.fields.get(id).cloned()).collect(),
    };
    fields.retain(|field| crate::geometry::bounds(&field.boundary).is_some());
    fields.sort_by(|a, b| (records.farm_name(a), &a.name, a.id).cmp(&(records.farm_name(b), &b.name, b.id)));
    fields
}

fn title(request: &MapRequest, fields: &[Arc<Field>]) -> String {
    if !request.title.trim().is_empty() {
        return request.title.clone();
    }
    let what = match request.colouring {
        Colouring::Rating => "Resistance ratings",
        Colouring::RatingAndAge => "Resistance ratings and their age",
        Colouring::Change => "Resistance ratings since the test before",
        Colouring::Age => "Harvests since the last test",
        Colouring::Density => "Density of the weed",
        Colouring::Uncertainty => "How sure the density is",
        Colouring::Due => "Fields due a test",
        Colouring::ControlLeft => "Control left of the planned programmes",
        Colouring::AtRisk => "Money at risk in the planned programmes",
    };
    match fields {
        [one] => format!("{}: {}", one.name, lower_first(what)),
        _ => what.to_owned(),
    }
}

fn lower_first(words: &str) -> String {
    let mut chars = words.chars();
    chars.next().map_or_else(String::new, |first| first.to_lowercase().collect::<String>() + chars.as_str())
}

fn belongs(records: &Records, request: &MapRequest) -> String {
    let name = records.settings.name.trim();
    if name.is_empty() { format!("Harvest {}", request.year) } else { format!("{name}, harvest {}", request.year) }
}

fn nothing(request: &MapRequest) -> String {
    let look = Type { size: 4.0, bold: false, colour: palette::MUTED, anchor: Anchor::Start };
    let words = format!("No field has a boundary in harvest {}. Add boundaries, or choose another year.", request.year);
    svg::text(Coord { x: MARGIN, y: HEAD + 12.0 }, look, &words)
}

fn filled(
    records: &Records,
    request: &MapRequest,
    fields: &[Arc<Field>],
    (width, height): (f64, f64),
    (upright, stretch): (bool, f64),
) -> String {
    let inner = width - 2.0 * MARGIN;
    // The frame of the map depends on the height of foot and legend, these on the key, the key's cells on the scale: so the
    // map is laid out twice.
    let frame = |foot: f64, card: f64| {
        let beside = if upright { 0.0 } else { furniture::CARD_MM + 4.0 };
        let below = if upright { card + 6.0 } else { 0.0 };
        let bottom = (height - MARGIN - foot - below).max(HEAD + 20.0);
        Rect::new(Coord { x: MARGIN, y: HEAD }, Coord { x: width - MARGIN - beside, y: bottom })
    };
    let guess = lay_out(records, fields, frame(16.0, 70.0));
    let cell_m = (CELL_MM / guess.mm_per_m.max(1e-6)).ceil().clamp(5.0, 200.0);
    let key = classes::key(records, request, fields, cell_m);
    let signs = signs(records, request, fields);
    let foot = furniture::foot_lines(&key, inner);
    let foot_height = furniture::foot_height(&foot);
    let card_height = furniture::legend(&key, &signs, Coord { x: 0.0, y: 0.0 }).1;
    let layout = lay_out(records, fields, frame(foot_height, card_height));
    let foot_top = height - MARGIN - foot_height;
    let mut out = map(records, request, fields, &layout, &key);
    out.push_str(&furniture::foot(&foot, MARGIN, foot_top + 1.0, inner));
    let corner = if upright {
        Coord { x: MARGIN, y: foot_top - card_height - 3.0 }
    } else {
        Coord { x: width - MARGIN - furniture::CARD_MM, y: HEAD }
    };
    out.push_str(&furniture::legend(&key, &signs, corner).0);
    let bar = if upright {
        Coord { x: MARGIN + furniture::CARD_MM + 24.0, y: foot_top - 12.0 }
    } else {
        Coord { x: corner.x + 20.0, y: (corner.y + card_height + 14.0).max(foot_top - 10.0) }
    };
    out.push_str(&furniture::north(Coord { x: bar.x - 10.0, y: bar.y - 1.0 }));
    out + &furniture::scale_bar(layout.mm_per_m, stretch, bar, 50.0)
}

/// The plan drawn in a field, if there is one and the map is about walking.
fn plan<'a>(records: &'a Records, request: &MapRequest, field: &Field, alone: bool) -> Option<&'a Arc<Plan>> {
    if !alone && !matches!(request.colouring, Colouring::Density | Colouring::Uncertainty) {
        return None;
    }
    records.plan_of(field.id, request.year)
}

fn signs(records: &Records, request: &MapRequest, fields: &[Arc<Field>]) -> Vec<Sign> {
    let alone = fields.len() == 1;
    let mut signs = Vec::new();
    if fields.iter().any(|field| records.gates_of(field.id).next().is_some()) {
        signs.push(Sign::Gate);
    }
    if fields.iter().any(|field| records.no_go_of(field.id).next().is_some()) {
        signs.push(Sign::NoGo);
    }
    if alone && fields.iter().any(|field| records.tramlines_of(field.id).next().is_some()) {
        signs.push(Sign::Tramline);
    }
    if fields.iter().any(|field| plan(records, request, field, alone).is_some()) {
        signs.push(Sign::Plan);
    }
    signs
}

fn map(records: &Records, request: &MapRequest, fields: &[Arc<Field>], layout: &Layout, key: &Key) -> String {
    let alone = fields.len() == 1;
    let scene = Scene { records, layout, key, tramlines: alone };
    let mut out: String = layout.panels.iter().map(|panel| scene.ground(panel)).collect();
    let plans: Vec<(&Panel, &Arc<Plan>)> = layout
        .panels
        .iter()
        .flat_map(|panel| panel.fields.iter().map(move |field| (panel, field)))
        .filter_map(|(panel, field)| Some((panel, plan(records, request, field, alone)?)))
        .collect();
    for (panel, plan) in &plans {
        out.push_str(&walk_layer::walk(layout, panel, plan, alone));
    }
    let taken = if alone {
        plans.iter().flat_map(|(panel, plan)| walk_layer::room(layout, panel, plan)).collect()
    } else {
        Vec::new()
    };
    for (panel, plan) in &plans {
        out.push_str(&walk_layer::stops(layout, panel, plan, alone));
    }
    out + &scene.labels(taken)
}
