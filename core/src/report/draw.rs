//! Fields on the map: fills, density cells, tramlines, no-go areas, outlines, gates, names.

use std::fmt::Write as _;

use geo::{BooleanOps as _, BoundingRect as _, Contains as _, Coord, MultiPolygon, Polygon};

use crate::density::Surface;
use crate::model::{Field, Gate, Records};
use crate::report::classes::{Key, Look, Over};
use crate::report::density_key::class_of;
use crate::report::dress::{Layer, Layers};
use crate::report::labels::{self, Backing};
use crate::report::panels::{Layout, Panel, TITLE_ABOVE_MM};
use crate::report::svg::{self, Anchor, Box, Type};
use crate::report::{lettering, palette, patterns};
use crate::stops::tramline_lines;

/// A field that is smaller than this on paper, mm, is drawn as a disc of its class, with its letter beside it.
const SMALLEST_MM: f64 = 1.0;
const DISC_MM: f64 = 0.75;

/// What the layers of a map are drawn from.
pub struct Scene<'a> {
    /// The records.
    pub records: &'a Records,
    /// Where things lie.
    pub layout: &'a Layout,
    /// What fields look like.
    pub key: &'a Key,
    /// What of them is drawn.
    pub layers: &'a Layers,
}

impl Scene<'_> {
    /// A layer of one panel that is drawn of fields alone.
    pub fn layer(&self, panel: &Panel, layer: Layer) -> String {
        let mut out = String::new();
        for field in &panel.fields {
            let Some(look) = self.key.looks.get(&field.id) else { continue };
            match layer {
                Layer::Fills => out.push_str(&self.fill(panel, field, look)),
                Layer::Density => {
                    if let Some(surface) = self.key.surfaces.get(&field.id) {
                        out.push_str(&self.cells(panel, surface, &self.layout.shape(panel, &field.boundary)));
                    }
                }
                Layer::Tramlines => out.push_str(&self.tramlines_of(panel, field)),
                Layer::NoGo => out.push_str(&self.no_go_of(panel, field)),
                Layer::Outlines => out.push_str(&self.outline(panel, field, look)),
                Layer::Gates => out.extend(self.records.gates_of(field.id).map(|gate| self.gate(panel, field, gate))),
                _ => {}
            }
        }
        out
    }

    /// The name of a panel, above it.
    pub fn title(&self, panel: &Panel) -> String {
        if panel.title.is_empty() {
            return String::new();
        }
        let top = panel.corner.y - panel.bounds.height() * self.layout.mm_per_m;
        let at = Coord { x: panel.corner.x, y: top - TITLE_ABOVE_MM };
        // A short farm may keep a long name as far as its neighbour's.
        let room = (panel.bounds.width() * self.layout.mm_per_m).max(24.0);
        let words = lettering::shortened(&panel.title, 4.0, true, room);
        svg::text(at, Type { size: 4.0, bold: true, colour: palette::INK, anchor: Anchor::Start }, &words)
    }

    fn fill(&self, panel: &Panel, field: &Field, look: &Look) -> String {
        let shape = self.layout.shape(panel, &field.boundary);
        let (path, fill) = (svg::shape_path(&shape), svg::colour(look.colour));
        let mut out = self.area(field, look, &path, &fill);
        let pattern = patterns::over(look.over, look.colour);
        out.push_str(&patterns::over_shape(look.over, look.colour, &shape));
        if let Some(at) = speck(&shape) {
            let [x, y, r] = [at.x, at.y, DISC_MM].map(svg::number);
            let _ = writeln!(out, "<circle class=\"speck\" cx=\"{x}\" cy=\"{y}\" r=\"{r}\" fill=\"{fill}\"/>");
            if let Some(pattern) = &pattern {
                let _ = writeln!(out, "<circle cx=\"{x}\" cy=\"{y}\" r=\"{r}\" fill=\"{pattern}\"/>");
            }
            let ink = svg::colour(palette::INK);
            let _ = writeln!(
                out,
                "<circle cx=\"{x}\" cy=\"{y}\" r=\"{r}\" fill=\"none\" stroke=\"{ink}\" stroke-width=\"0.25\"/>"
            );
        }
        out
    }

    /// A field's land, named and with its class.
    fn area(&self, field: &Field, look: &Look, path: &str, fill: &str) -> String {
        format!(
            "<path class=\"field\" data-name=\"{}\" data-class=\"{}\" d=\"{path}\" fill=\"{fill}\" \
             fill-rule=\"evenodd\"/>\n",
            svg::escaped(&field.name),
            svg::escaped(&self.key.classes[look.class].label)
        )
    }

    fn no_go_of(&self, panel: &Panel, field: &Field) -> String {
        let mut out = String::new();
        for area in self.records.no_go_of(field.id) {
            let area = svg::shape_path(&self.layout.shape(panel, &area.area));
            let muted = svg::colour(palette::MUTED);
            let _ = writeln!(out, "<path d=\"{area}\" fill=\"url(#no-go)\" stroke=\"{muted}\" stroke-width=\"0.15\"/>");
        }
        out
    }

    fn outline(&self, panel: &Panel, field: &Field, look: &Look) -> String {
        let shape = self.layout.shape(panel, &field.boundary);
        let fills = self.layers.has(Layer::Fills);
        if fills && speck(&shape).is_some() {
            return String::new();
        }
        let path = svg::shape_path(&shape);
        let dotted = self.key.classes[look.class].dotted;
        let dots = if dotted { "stroke-dasharray=\"0.10 0.90\" stroke-linecap=\"round\" " } else { "" };
        let width = if dotted { 0.5 } else { 0.32 };
        // Without colours the outline is all that there is of a field.
        let land = if fills { String::new() } else { self.area(field, look, &path, "none") };
        land + &svg::stroke(&path, width, palette::INK, &format!("{dots}stroke-linejoin=\"round\""))
    }

    /// Cells of the surface, those of one class in one path, neighbours in a row joined. They are cut at the field's outline here:
    /// left to a viewer, each cut costs it a picture of its own, at 600 dots to the inch some seconds for a farm.
    fn cells(&self, panel: &Panel, surface: &Surface, shape: &MultiPolygon<f64>) -> String {
        let grid = &surface.grid;
        let mut runs: [Vec<Polygon<f64>>; 5] = Default::default();
        let class = |column: usize, row: usize| grid.value(column, row).map(|value| class_of(value, surface.unit));
        for row in 0..grid.rows {
            let mut column = 0;
            while column < grid.columns {
                let start = column;
                let here = class(start, row);
                while column < grid.columns && class(column, row) == here {
                    column += 1;
                }
                if let Some(here) = here {
                    runs[here].push(self.run(panel, surface, row, (start, column)));
                }
            }
        }
        let mut out = String::new();
        for (class, runs) in runs.into_iter().enumerate().filter(|(_, runs)| !runs.is_empty()) {
            let path = svg::shape_path(&MultiPolygon(runs).intersection(shape));
            let fill = svg::colour(palette::DENSITY[class]);
            // A hair of the same colour hides the seams that smoothing leaves between neighbours.
            let _ = writeln!(
                out,
                "<path class=\"density\" d=\"{path}\" fill=\"{fill}\" fill-rule=\"evenodd\" stroke=\"{fill}\" stroke-width=\"0.06\"/>"
            );
        }
        out
    }

    fn run(&self, panel: &Panel, surface: &Surface, row: usize, (start, end): (usize, usize)) -> Polygon<f64> {
        let grid = &surface.grid;
        let corner = |column: usize, row: usize| {
            self.layout.place(panel, surface.plane.degrees(grid.place(column as f64, row as f64)))
        };
        let ring = vec![corner(start, row), corner(end, row), corner(end, row + 1), corner(start, row + 1)];
        Polygon::new(ring.into(), Vec::new())
    }

    fn tramlines_of(&self, panel: &Panel, field: &Field) -> String {
        let mut out = String::new();
        for (number, line) in tramline_lines(self.records, field.id) {
            let line = geo::MapCoords::map_coords(&line, |c| self.layout.place(panel, c));
            let dashes = if number.is_none() { "stroke-dasharray=\"1.20 0.80\"" } else { "" };
            out.push_str(&svg::stroke(&svg::line_path(&line), 0.13, palette::MUTED, dashes));
        }
        out
    }

    /// A gate: a short opening in the outline between two posts.
    fn gate(&self, panel: &Panel, field: &Field, gate: &Gate) -> String {
        const HALF_MM: f64 = 1.1;
        let shape = self.layout.shape(panel, &field.boundary);
        let Some((at, along)) = nearest_side(&shape, self.layout.place(panel, gate.position)) else { return String::new() };
        let across = Coord { x: -along.y, y: along.x };
        let (one, other) = (at - along * HALF_MM, at + along * HALF_MM);
        let post = |p: Coord<f64>| svg::points(&[p - across * 0.9, p + across * 0.9], false);
        svg::stroke(&svg::points(&[one, other], false), 0.7, palette::GROUND, "class=\"gate\"")
            + &svg::stroke(&(post(one) + &post(other)), 0.38, palette::INK, "stroke-linecap=\"round\"")
    }

    /// Room that names should not cover: gates and no-go areas.
    fn things_to_see(&self) -> Vec<Box> {
        const GATE_MM: f64 = 2.0;
        let mut boxes = Vec::new();
        for (panel, field) in
            self.layout.panels.iter().flat_map(|panel| panel.fields.iter().map(move |field| (panel, field)))
        {
            for gate in self.records.gates_of(field.id) {
                let at = self.layout.place(panel, gate.position);
                boxes.push(Box { x: at.x - GATE_MM / 2.0, y: at.y - GATE_MM / 2.0, width: GATE_MM, height: GATE_MM });
            }
            for area in self.records.no_go_of(field.id) {
                let Some(rect) = self.layout.shape(panel, &area.area).bounding_rect() else { continue };
                boxes.push(Box { x: rect.min().x, y: rect.min().y, width: rect.width(), height: rect.height() });
            }
        }
        boxes
    }

    /// Names and marks of all panels, large fields first; `taken` is room that must stay free.
    pub fn labels(&self, mut taken: Vec<Box>) -> String {
        taken.extend(self.things_to_see());
        let mut fields: Vec<_> =
            self.layout.panels.iter().flat_map(|panel| panel.fields.iter().map(move |field| (panel, field))).collect();
        fields.sort_by(|a, b| b.1.area_m2().total_cmp(&a.1.area_m2()));
        let mut out = String::new();
        for (panel, field) in fields {
            let Some(look) = self.key.looks.get(&field.id) else { continue };
            let shape = self.layout.shape(panel, &field.boundary);
            let backing = match look.over {
                _ if self.layers.has(Layer::Density) && self.key.surfaces.contains_key(&field.id) => Backing::Mixed,
                Over::Nothing => Backing::Plain(look.colour),
                _ => Backing::Drawn(look.colour),
            };
            if let Some(at) = speck(&shape).filter(|_| self.layers.has(Layer::Fills)) {
                if let Some(label) = labels::beside(at, DISC_MM, &look.mark, &taken) {
                    taken.push(label.frame());
                    out.push_str(&label.svg());
                }
                continue;
            }
            if let Some(label) = labels::placed(&shape, &field.name, &look.mark, backing, &taken) {
                taken.push(label.frame());
                out.push_str(&label.svg());
            }
        }
        out
    }
}

/// The middle of a shape too small to be seen on paper.
fn speck(shape: &MultiPolygon<f64>) -> Option<Coord<f64>> {
    let rect = shape.bounding_rect()?;
    (rect.width().max(rect.height()) < SMALLEST_MM).then(|| rect.center())
}

/// Scouting of the newest harvest year up to `year` in one panel: points as discs, zones as dashed outlines.
pub fn scouting(records: &Records, year: i32, layout: &Layout, panel: &Panel) -> String {
    let known = || records.surveys.values().filter(|survey| survey.harvest_year() <= year);
    let newest = known().map(|survey| survey.harvest_year()).max();
    let inside = |at: Coord<f64>| panel.fields.iter().any(|field| field.boundary.contains(&geo::Point(at)));
    let mut out = String::new();
    for survey in known().filter(|survey| Some(survey.harvest_year()) == newest) {
        for zone in &survey.zones {
            let path = svg::shape_path(&layout.shape(panel, &zone.area));
            out.push_str(&svg::stroke(&path, 0.2, palette::INK, "stroke-dasharray=\"1.00 0.70\""));
        }
        for point in survey.points.iter().filter(|point| inside(point.position)) {
            out.push_str(&svg::find(layout.place(panel, point.position), point.value));
        }
    }
    out
}

/// The nearest point of the boundary and the direction of the side it lies on.
fn nearest_side(shape: &MultiPolygon<f64>, p: Coord<f64>) -> Option<(Coord<f64>, Coord<f64>)> {
    let sides = shape.iter().flat_map(|polygon| polygon.exterior().lines());
    let on_side = |side: geo::Line<f64>| {
        let span = side.end - side.start;
        let length2 = span.x * span.x + span.y * span.y;
        let t = if length2 > 0.0 { ((p - side.start).x * span.x + (p - side.start).y * span.y) / length2 } else { 0.0 };
        let at = side.start + span * t.clamp(0.0, 1.0);
        let off = (at.x - p.x) * (at.x - p.x) + (at.y - p.y) * (at.y - p.y);
        (off, at, span / length2.sqrt().max(1e-9))
    };
    sides.map(on_side).min_by(|a, b| a.0.total_cmp(&b.0)).map(|(_, at, along)| (at, along))
}
