//! The whole sheet: where map, legend and words go, and in which order they are drawn.

use std::sync::Arc;

use geo::{Coord, Rect};

use crate::model::{Field, Plan, Records};
use crate::report::classes::{self, Key};
use crate::report::draw::{self, Scene};
use crate::report::dress::{Drawing, Dress, Form, Layers};
use crate::report::legend::{self, Sign};
use crate::report::panels::{Layout, Panel, lay_out, view_of};
use crate::report::svg::{self, Anchor, Type};
use crate::report::{
    Colouring, MapRequest, density_key, furniture, inset, lettering, palette, patterns, tracks, walk_layer,
};
use crate::units;

const MARGIN: f64 = 8.0;
const HEAD: f64 = 22.0;
/// Smallest side of a density cell on paper, mm.
const CELL_MM: f64 = 0.6;
/// Letters of a figure in a page are this much of those of a sheet: 7 points in the legend.
const FIGURE_STRETCH: f64 = 0.86;
/// Least height of what stands below an upright map, and least width of the inset there, mm.
const BAND_MM: f64 = 52.0;
const INSET_MM: f64 = 36.0;
/// From this scale on stops are drawn with their numbers, mm for a metre (1:5 000).
const LARGE_FROM: f64 = 0.2;
/// Area of the sheet for which sizes of letters are given (A4), mm2.
const SHEET_MM2: f64 = 297.0 * 210.0;

/// The map. Its letters grow with a sheet, which is laid out on A4's area and stretched; in a figure they keep their size.
pub fn draw(records: &Records, request: &MapRequest, dress: &Dress) -> Drawing {
    let (paper_width, paper_height) = paper(request.size_mm);
    let figure = dress.form != Form::Sheet;
    let stretch = if figure { FIGURE_STRETCH } else { (paper_width * paper_height / SHEET_MM2).sqrt() };
    let (width, height) = (paper_width / stretch, paper_height / stretch);
    let fields = fields(records, request);
    let page = Page { records, request, dress, fields: &fields, width, height, stretch };
    let (body, key) = if fields.is_empty() { page.nothing() } else { page.filled() };
    let [w, h, paper_w, paper_h] = [width, height, paper_width, paper_height].map(svg::number);
    let mut ground = String::new();
    if !figure {
        let sheet = svg::rect(svg::Box { x: 0.0, y: 0.0, width, height }, 0.0, palette::GROUND);
        let belongs = belongs(records, request);
        ground = sheet + &furniture::heading(&title(request, &fields), &belongs, MARGIN, width);
    }
    let svg = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{paper_w}mm\" height=\"{paper_h}mm\" viewBox=\"0 0 {w} {h}\" \
         font-family=\"{}\">\n{}{ground}{body}</svg>\n",
        lettering::FAMILY,
        patterns::definitions()
    );
    let described = key.as_ref().map_or_else(String::new, described);
    Drawing { svg, sources: key.map(|key| key.sources).unwrap_or_default(), described }
}

/// The legend in words.
fn described(key: &Key) -> String {
    let rows = key.classes.iter().filter(|class| class.fields > 0).map(|class| {
        let mark = if class.mark.is_empty() { String::new() } else { format!("{}, ", class.mark) };
        format!("{mark}{}: {} {}, {} ha", class.label, class.fields, key.count_heading, units::ha(class.area_m2))
    });
    format!("Map. {}. {}.", key.heading, rows.collect::<Vec<_>>().join("; "))
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

/// The title of a map, given or made.
pub fn title_of(records: &Records, request: &MapRequest) -> String {
    title(request, &fields(records, request))
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
        Colouring::Stage => "Samples on their way",
        Colouring::ControlLeft => "Control left of the planned programmes",
        Colouring::AtRisk => "Money at risk in the planned programmes",
        Colouring::Expected => "Heads expected",
        Colouring::Plain => "Fields",
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

/// A map on its way to the paper; lengths in mm before stretching.
struct Page<'a> {
    records: &'a Records,
    request: &'a MapRequest,
    dress: &'a Dress,
    fields: &'a [Arc<Field>],
    width: f64,
    height: f64,
    stretch: f64,
}

/// Where legend, inset, scale bar and north mark stand.
struct Places {
    /// The map's.
    frame: Rect<f64>,
    legend: Coord<f64>,
    inset: Option<svg::Box>,
    bar: Coord<f64>,
    bar_room: f64,
}

impl Page<'_> {
    fn nothing(&self) -> (String, Option<Key>) {
        let look = Type { size: 4.0, bold: false, colour: palette::MUTED, anchor: Anchor::Start };
        let year = self.request.year;
        let words = format!("No field has a boundary in harvest {year}. Add boundaries, or choose another year.");
        (svg::text(Coord { x: self.margin(), y: self.head() + 12.0 }, look, &words), None)
    }

    fn is_sheet(&self) -> bool {
        self.dress.form == Form::Sheet
    }

    fn margin(&self) -> f64 {
        if self.is_sheet() { MARGIN } else { 0.5 }
    }

    fn head(&self) -> f64 {
        if self.is_sheet() { HEAD } else { 0.5 }
    }

    fn has_legend(&self) -> bool {
        let explained = matches!(self.dress.form, Form::Sheet | Form::Figure { legend: true });
        explained && (self.request.colouring != Colouring::Plain || self.is_sheet())
    }

    fn filled(&self) -> (String, Option<Key>) {
        let Self { records, request, fields, .. } = *self;
        let inner = self.width - 2.0 * self.margin();
        // The frame of the map depends on the height of foot and legend, these on the key, the key's cells on the scale: so the
        // map is laid out twice.
        let guess = self.laid_out(&self.places(16.0, 70.0, 1));
        let cell_m = (CELL_MM / guess.mm_per_m.max(1e-6)).ceil().clamp(5.0, 200.0);
        let key = match (request.colouring, &self.dress.expected) {
            (Colouring::Expected, Some(expected)) => density_key::expected(expected, fields),
            _ => classes::key(records, request, fields, cell_m),
        };
        let layers = self.layers();
        let signs = self.signs(layers);
        let foot = if self.is_sheet() { furniture::foot_lines(&key, self.dress.date, inner) } else { Vec::new() };
        let foot_height = if self.is_sheet() { furniture::foot_height(&foot) } else { 0.0 };
        let columns = self.columns(key.classes.len() + signs.len());
        let card_height = if self.has_legend() { legend::legend(&key, &signs, Coord::zero(), columns).1 } else { 0.0 };
        let places = self.places(foot_height, card_height, columns);
        let layout = self.laid_out(&places);
        let foot_top = self.height - self.margin() - foot_height;
        let mut out = self.map(&layout, &key, layers, places.frame);
        if self.is_sheet() {
            out.push_str(&furniture::foot(&foot, self.margin(), foot_top + 1.0, inner));
        }
        if self.has_legend() {
            out.push_str(&legend::legend(&key, &signs, places.legend, columns).0);
        }
        let beside = places.inset.filter(|room| room.height >= inset::LEAST_MM.1 && room.width >= inset::LEAST_MM.0);
        let in_corner = || inset::free_corner(&layout, places.frame);
        if let Some(room) = beside.or_else(in_corner).filter(|_| self.has_legend()) {
            out.push_str(&inset::inset(&records.fields_in(request.year), &layout, room).unwrap_or_default());
        }
        if self.dress.form == Form::Emblem {
            return (out, Some(key));
        }
        out.push_str(&furniture::north(Coord { x: places.bar.x - 8.0, y: places.bar.y - 1.0 }));
        (out + &furniture::scale_bar(layout.mm_per_m, self.stretch, places.bar, places.bar_room), Some(key))
    }

    /// Many classes stand in two columns below an upright map.
    fn columns(&self, rows: usize) -> usize {
        let room = self.width - 2.0 * self.margin() - legend::width(2);
        if self.height > self.width && rows > 6 && room >= INSET_MM + 2.0 { 2 } else { 1 }
    }

    fn places(&self, foot: f64, card: f64, columns: usize) -> Places {
        let (margin, width) = (self.margin(), self.width);
        let bottom = self.height - margin - foot;
        let legend = self.has_legend();
        let frame = |right: f64, low: f64| {
            Rect::new(Coord { x: margin, y: self.head() }, Coord { x: right, y: low.max(self.head() + 20.0) })
        };
        if self.dress.form == Form::Emblem {
            let frame = frame(width - margin, bottom);
            return Places { frame, legend: Coord::zero(), inset: None, bar: Coord::zero(), bar_room: 0.0 };
        }
        if !legend {
            let bar = Coord { x: margin + 18.0, y: bottom - 6.0 };
            let frame = frame(width - margin, bottom - 16.0);
            return Places { frame, legend: Coord::zero(), inset: None, bar, bar_room: 50.0 };
        }
        if self.height > width {
            // Below the map: the legend, and beside it inset, bar and north mark.
            let band = card.max(BAND_MM);
            let top = bottom - band - 3.0;
            let left = margin + legend::width(columns) + 4.0;
            let room = width - margin - left;
            let inset = svg::Box { x: left, y: top, width: room.min(70.0), height: (band - 17.0).min(52.0) };
            let bar = Coord { x: left + 11.0, y: bottom - 10.0 };
            let (legend, bar_room) = (Coord { x: margin, y: top }, (room - 14.0).clamp(16.0, 50.0));
            return Places { frame: frame(width - margin, top - 3.0), legend, inset: Some(inset), bar, bar_room };
        }
        let corner = Coord { x: width - margin - legend::CARD_MM, y: self.head() };
        let bar = Coord { x: corner.x + 20.0, y: (corner.y + card + 14.0).max(bottom - 10.0) };
        let spare = bar.y - 12.0 - (corner.y + card + 4.0);
        let inset = svg::Box { x: corner.x, y: corner.y + card + 4.0, width: legend::CARD_MM, height: spare.min(58.0) };
        let frame = frame(corner.x - 4.0, bottom);
        Places { frame, legend: corner, inset: Some(inset), bar, bar_room: 50.0 }
    }

    fn laid_out(&self, places: &Places) -> Layout {
        let view = self.dress.view.and_then(|view| view_of(self.fields, view.bounds, places.frame));
        view.unwrap_or_else(|| lay_out(self.records, self.fields, places.frame))
    }

    /// What is drawn: as the window shows it, or what goes with the colouring.
    fn layers(&self) -> Layers {
        if let Some(view) = &self.dress.view {
            return view.layers;
        }
        if self.dress.form == Form::Emblem {
            return Layers { fills: true, outlines: true, ..Layers::NONE };
        }
        let alone = self.fields.len() == 1;
        let about_walks = matches!(self.request.colouring, Colouring::Density | Colouring::Uncertainty | Colouring::Plain);
        Layers {
            fills: true,
            density: true,
            outlines: true,
            no_go: true,
            scouting: false,
            tramlines: alone,
            gates: true,
            plans: alone || about_walks,
            rounds: false,
            walked: false,
            labels: true,
        }
    }

    fn signs(&self, layers: Layers) -> Vec<Sign> {
        let Self { records, request, fields, .. } = *self;
        let any = |wanted: bool, has: &dyn Fn(&Field) -> bool| wanted && fields.iter().any(|field| has(field));
        let signs = [
            (Sign::Gate, any(layers.gates, &|field| records.gates_of(field.id).next().is_some())),
            (Sign::NoGo, any(layers.no_go, &|field| records.no_go_of(field.id).next().is_some())),
            (Sign::Tramline, any(layers.tramlines, &|field| records.tramlines_of(field.id).next().is_some())),
            (Sign::Scouting, layers.scouting && !records.surveys.is_empty()),
            (Sign::Plan, any(layers.plans, &|field| records.plan_of(field.id, request.year).is_some())),
            (Sign::Round, layers.rounds && self.dress.round.is_some()),
            (Sign::Walked, layers.walked && records.walked.values().any(|walk| walk.year == request.year)),
        ];
        signs.into_iter().filter(|(_, there)| *there).map(|(sign, _)| sign).collect()
    }

    fn map(&self, layout: &Layout, key: &Key, layers: Layers, frame: Rect<f64>) -> String {
        let Self { records, request, .. } = *self;
        // Rings with numbers and arrows where single stops can be told apart on paper.
        let large = self.fields.len() == 1 || layout.mm_per_m >= LARGE_FROM;
        let scene = Scene { records, layout, key, layers };
        let titled = self.dress.form != Form::Emblem && (self.has_legend() || self.fields.len() > 1);
        let grounds = layout.panels.iter().map(|panel| scene.ground(panel, titled));
        let mut out: String = grounds.collect();
        if layers.scouting {
            out.extend(layout.panels.iter().map(|panel| draw::scouting(records, request.year, layout, panel)));
        }
        let plans: Vec<(&Panel, &Arc<Plan>)> = layout
            .panels
            .iter()
            .flat_map(|panel| panel.fields.iter().map(move |field| (panel, field)))
            .filter_map(|(panel, field)| Some((panel, records.plan_of(field.id, request.year).filter(|_| layers.plans)?)))
            .collect();
        for (panel, plan) in &plans {
            out.push_str(&walk_layer::walk(layout, panel, plan, large));
        }
        let taken = plans.iter().flat_map(|(panel, plan)| walk_layer::room(layout, panel, plan, large)).collect();
        for (panel, plan) in &plans {
            out.push_str(&walk_layer::stops(layout, panel, plan, large));
        }
        for panel in &layout.panels {
            if let Some(round) = self.dress.round.filter(|_| layers.rounds) {
                out.push_str(&tracks::round(records, request.year, round, layout, panel));
            }
            if layers.walked {
                out.push_str(&tracks::walked(records, request.year, layout, panel));
            }
        }
        out.push_str(&scene.labels(taken));
        if self.dress.view.is_none() {
            return out;
        }
        // A view cuts fields at the edge of the map, as the window does.
        let (low, high) = (frame.min(), frame.max());
        let corners = [low, Coord { x: high.x, y: low.y }, high, Coord { x: low.x, y: high.y }];
        let edge = svg::points(&corners, true);
        let line = svg::stroke(&edge, 0.25, palette::MUTED, "class=\"neatline\"");
        format!("<clipPath id=\"view\"><path d=\"{edge}\"/></clipPath>\n<g clip-path=\"url(#view)\">\n{out}</g>\n{line}")
    }
}
