//! The whole sheet: where map, legend and words go, and in which order they are drawn.

use std::sync::Arc;

use geo::{Coord, Rect};

use crate::model::{Field, Plan, Records, by_name};
use crate::report::classes::{self, Key};
use crate::report::draw::{self, Scene};
use crate::report::dress::{Drawing, Dress, Form, Layer, Layers};
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
    let mut faults = Vec::new();
    let (body, key) = if fields.is_empty() { page.nothing() } else { page.filled(&mut faults) };
    faults.extend(lettering::unprintable(texts(records, request, &fields)));
    let [w, h, paper_w, paper_h] = [width, height, paper_width, paper_height].map(svg::number);
    let mut ground = String::new();
    if !figure {
        let sheet = svg::rect(svg::Box { x: 0.0, y: 0.0, width, height }, 0.0, palette::GROUND);
        let belongs = belongs(records, request);
        ground = sheet + &furniture::heading(&title(request, &fields), &belongs, MARGIN, width);
    }
    let links = if body.contains("xlink:href") { " xmlns:xlink=\"http://www.w3.org/1999/xlink\"" } else { "" };
    let svg = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\"{links} width=\"{paper_w}mm\" height=\"{paper_h}mm\" viewBox=\"0 0 {w} {h}\" \
         font-family=\"{}\">\n{}{ground}{body}</svg>\n",
        lettering::FAMILY,
        patterns::definitions()
    );
    let described = key.as_ref().map_or_else(String::new, described);
    Drawing { svg, sources: key.map(|key| key.sources).unwrap_or_default(), described, faults }
}

/// What people typed and the sheet shows.
fn texts<'a>(records: &'a Records, request: &'a MapRequest, fields: &'a [Arc<Field>]) -> impl Iterator<Item = &'a str> {
    let names = fields.iter().flat_map(|field| [field.name.as_str(), records.farm_name(field)]);
    names.chain([request.title.as_str(), records.settings.name.as_str()])
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
    fields.sort_by(|a, b| {
        let farms = by_name(records.farm_name(a), records.farm_name(b));
        farms.then_with(|| by_name(&a.name, &b.name)).then(a.id.cmp(&b.id))
    });
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

    fn filled(&self, faults: &mut Vec<String>) -> (String, Option<Key>) {
        let Self { records, request, fields, .. } = *self;
        let inner = self.width - 2.0 * self.margin();
        // The frame of the map depends on the height of foot and legend, these on the key, the key's cells on the scale: so the
        // map is laid out twice.
        let guess = self.laid_out(&self.places(16.0, 70.0, 1));
        let cell_m = (CELL_MM / guess.mm_per_m.max(1e-6)).ceil().clamp(5.0, 200.0);
        let mut key = match (request.colouring, &self.dress.expected) {
            (Colouring::Expected, Some(expected)) => density_key::expected(expected, fields),
            _ => classes::key(records, request, fields, cell_m),
        };
        // Colourings that are read two ways have patterns of their own.
        let two_ways = [Colouring::RatingAndAge, Colouring::Change, Colouring::ControlLeft, Colouring::AtRisk]
            .contains(&request.colouring);
        if self.dress.view.as_ref().is_some_and(|view| view.patterns) && !two_ways {
            key.add_rows();
        }
        let layers = self.layers();
        let signs = self.signs(&layers);
        let shown = self.dress.backdrop.as_ref().filter(|_| layers.has(Layer::Background));
        let credit = shown.map(|backdrop| backdrop.0.credit().trim()).filter(|credit| !credit.is_empty());
        let foot = if self.is_sheet() { furniture::foot_lines(&key, credit, self.dress.date, inner) } else { Vec::new() };
        let foot_height = if self.is_sheet() { furniture::foot_height(&foot) } else { 0.0 };
        let columns = self.columns(key.classes.len() + signs.len());
        let card_height = if self.has_legend() { legend::legend(&key, &signs, Coord::zero(), columns).1 } else { 0.0 };
        let places = self.places(foot_height, card_height, columns);
        let layout = self.laid_out(&places);
        let foot_top = self.height - self.margin() - foot_height;
        let mut out = self.map(&Scene { records, layout: &layout, key: &key, layers: &layers }, places.frame, faults);
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
        let view = self.dress.view.as_ref().and_then(|view| view_of(self.fields, view.bounds, places.frame));
        view.unwrap_or_else(|| lay_out(self.records, self.fields, places.frame))
    }

    /// What is drawn: as the window shows it, or what goes with the colouring.
    fn layers(&self) -> Layers {
        if let Some(view) = &self.dress.view {
            return view.layers.clone();
        }
        if self.dress.form == Form::Emblem {
            return Layers::of(&[Layer::Fills, Layer::Outlines]);
        }
        let alone = self.fields.len() == 1;
        let about_walks = matches!(self.request.colouring, Colouring::Density | Colouring::Uncertainty | Colouring::Plain);
        let all = [
            (Layer::Background, true),
            (Layer::Fills, true),
            (Layer::Density, true),
            (Layer::Tramlines, alone),
            (Layer::NoGo, true),
            (Layer::Outlines, true),
            (Layer::Gates, true),
            (Layer::Plans, alone || about_walks),
            (Layer::Labels, true),
        ];
        Layers::new(all.into_iter().filter(|(_, drawn)| *drawn).map(|(layer, _)| (layer, 1.0)))
    }

    fn signs(&self, layers: &Layers) -> Vec<Sign> {
        let Self { records, request, fields, .. } = *self;
        let any = |wanted: bool, has: &dyn Fn(&Field) -> bool| wanted && fields.iter().any(|field| has(field));
        let signs = [
            (Sign::Gate, any(layers.has(Layer::Gates), &|field| records.gates_of(field.id).next().is_some())),
            (Sign::NoGo, any(layers.has(Layer::NoGo), &|field| records.no_go_of(field.id).next().is_some())),
            (Sign::Tramline, any(layers.has(Layer::Tramlines), &|field| records.tramlines_of(field.id).next().is_some())),
            (Sign::Scouting, layers.has(Layer::Scouting) && !records.surveys.is_empty()),
            (Sign::Plan, any(layers.has(Layer::Plans), &|field| records.plan_of(field.id, request.year).is_some())),
            (Sign::Round, layers.has(Layer::Rounds) && self.dress.round.is_some()),
            (Sign::Walked, layers.has(Layer::Walked) && records.walked.values().any(|walk| walk.year == request.year)),
        ];
        signs.into_iter().filter(|(_, there)| *there).map(|(sign, _)| sign).collect()
    }

    fn map(&self, scene: &Scene<'_>, frame: Rect<f64>, faults: &mut Vec<String>) -> String {
        let titled = self.dress.form != Form::Emblem && (self.has_legend() || self.fields.len() > 1);
        let mut out = String::new();
        for (layer, opacity) in scene.layers.each() {
            let drawn = self.layer(scene, layer, frame, faults);
            if !drawn.is_empty() {
                let faint = if opacity < 1.0 { format!(" opacity=\"{}\"", svg::number(opacity)) } else { String::new() };
                out.push_str(&format!("<g class=\"layer-{}\"{faint}>\n{drawn}</g>\n", layer.name()));
            }
        }
        let titles: String = scene.layout.panels.iter().filter(|_| titled).map(|panel| scene.title(panel)).collect();
        if self.dress.view.is_none() {
            return out + &titles;
        }
        // A view cuts fields at the edge of the map, as the window does.
        let (low, high) = (frame.min(), frame.max());
        let corners = [low, Coord { x: high.x, y: low.y }, high, Coord { x: low.x, y: high.y }];
        let edge = svg::points(&corners, true);
        let line = svg::stroke(&edge, 0.25, palette::MUTED, "class=\"neatline\"");
        format!("<clipPath id=\"view\"><path d=\"{edge}\"/></clipPath>\n<g clip-path=\"url(#view)\">\n{out}</g>\n{line}")
    }

    /// One layer of all panels.
    fn layer(&self, scene: &Scene<'_>, layer: Layer, frame: Rect<f64>, faults: &mut Vec<String>) -> String {
        let Self { records, request, dress, .. } = *self;
        let layout = scene.layout;
        let panels = || layout.panels.iter();
        // Rings with numbers and arrows where single stops can be told apart on paper.
        let large = self.fields.len() == 1 || layout.mm_per_m >= LARGE_FROM;
        let plans = || plans(records, request.year, layout);
        match layer {
            Layer::Background => {
                let Some(backdrop) = &dress.backdrop else { return String::new() };
                let mut out = String::new();
                for panel in panels() {
                    let (drawn, fault) = backdrop.drawn(layout, panel, frame, self.stretch);
                    out.push_str(&drawn);
                    faults.extend(fault);
                }
                faults.dedup();
                out
            }
            Layer::Scouting => panels().map(|panel| draw::scouting(records, request.year, layout, panel)).collect(),
            Layer::Plans => {
                let walks = plans().map(|(panel, plan)| walk_layer::walk(layout, panel, plan, large));
                let stops = plans().map(|(panel, plan)| walk_layer::stops(layout, panel, plan, large));
                walks.chain(stops).collect()
            }
            Layer::Rounds => {
                let Some(round) = dress.round else { return String::new() };
                panels().map(|panel| tracks::round(records, request.year, round, layout, panel)).collect()
            }
            Layer::Walked => panels().map(|panel| tracks::walked(records, request.year, layout, panel)).collect(),
            Layer::Labels => {
                let planned = plans().filter(|_| scene.layers.has(Layer::Plans));
                scene.labels(planned.flat_map(|(panel, plan)| walk_layer::room(layout, panel, plan, large)).collect())
            }
            _ => panels().map(|panel| scene.layer(panel, layer)).collect(),
        }
    }
}

/// Plans of the fields shown, with their panels.
fn plans<'a>(records: &'a Records, year: i32, layout: &'a Layout) -> impl Iterator<Item = (&'a Panel, &'a Arc<Plan>)> {
    let fields = layout.panels.iter().flat_map(|panel| panel.fields.iter().map(move |field| (panel, field)));
    fields.filter_map(move |(panel, field)| Some((panel, records.plan_of(field.id, year)?)))
}
