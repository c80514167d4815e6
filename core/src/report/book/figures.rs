//! The maps of a report, drawn side by side on as many cores as there are.

use std::collections::BTreeMap;
use std::sync::atomic::{AtomicUsize, Ordering};

use rayon::prelude::*;
use serde_json::{Value, json};

use crate::model::Records;
use crate::progress::{Cancelled, Progress};
use crate::rating::RatingOf;
use crate::report::book::parts::{shown, untested};
use crate::report::content::Content;
use crate::report::dress::{Dress, Form};
use crate::report::request::{Part, ReportRequest};
use crate::report::{Colouring, MapRequest, draw_map};

/// Margins of a page left and right together, and above and below together with heading and caption, mm; as in the template.
const SIDES_MM: f64 = 40.0;
const ABOVE_AND_BELOW_MM: f64 = 91.0;
/// What the words of a summary without tables take, mm.
const SUMMARY_MM: f64 = 45.0;
/// Width and height of a field's map, mm.
const FIELD_MM: (f64, f64) = (96.0, 66.0);
/// Height where there is little to say of the field besides, so that three such stand on a page, mm.
const LOW_FIELD_MM: f64 = 50.0;

/// Between two maps side by side, mm; as in the template.
const GUTTER_MM: f64 = 6.0;

/// A map to draw: the name it goes by, what it shows, how.
struct Wanted {
    name: String,
    request: MapRequest,
    dress: Dress,
}

/// Draws all maps into `files`; for the template, the file, width and words of each by its name.
pub(super) fn all(
    records: &Records,
    request: &ReportRequest,
    content: &Content,
    files: &mut BTreeMap<String, Vec<u8>>,
    progress: &dyn Progress,
) -> Result<Value, Cancelled> {
    let wanted = wanted(request, content);
    let steps = wanted.len() + 1;
    let done = AtomicUsize::new(0);
    progress.check(0, steps)?;
    let drawn: Result<Vec<_>, Cancelled> = wanted
        .par_iter()
        .map(|map| {
            if progress.cancelled() {
                return Err(Cancelled);
            }
            let drawing = draw_map(records, &map.request, &map.dress);
            progress.check(done.fetch_add(1, Ordering::Relaxed) + 1, steps)?;
            Ok(drawing)
        })
        .collect();
    let mut figures = serde_json::Map::new();
    for (map, drawing) in wanted.iter().zip(drawn?) {
        let file = format!("{}.svg", map.name);
        let figure = json!({
            "file": file, "width": map.request.size_mm.0, "height": map.request.size_mm.1,
            "sources": drawing.sources.join(" "), "described": drawing.described,
        });
        figures.insert(map.name.clone(), figure);
        files.insert(file, drawing.svg.into_bytes());
    }
    Ok(Value::Object(figures))
}

fn wanted(request: &ReportRequest, content: &Content) -> Vec<Wanted> {
    let parts = shown(request, content);
    let (width, height) = request.paper.size_mm();
    let full = (width - SIDES_MM, height - ABOVE_AND_BELOW_MM);
    // The map stands below the words of the summary where there is nothing else to show there.
    let full = if untested(content) && request.has(Part::Summary) { (full.0, full.1 - SUMMARY_MM) } else { full };
    let fields = Some(content.lines.iter().map(|line| line.id).collect());
    let map = |name: &str, colouring: Colouring, size_mm: (f64, f64), dress: Dress| Wanted {
        name: name.to_owned(),
        request: MapRequest {
            colouring,
            of: RatingOf::Worst,
            year: request.year,
            fields: fields.clone(),
            title: String::new(),
            size_mm,
        },
        dress,
    };
    let mut list = Vec::new();
    if parts.contains(&Part::Cover) && request.cover.is_none() && !content.lines.is_empty() {
        let dress = Dress { form: Form::Emblem, ..Dress::default() };
        list.push(map("emblem", Colouring::Rating, (width - SIDES_MM, 118.0), dress));
    }
    for (part, name, colouring) in [
        (Part::RatingMap, "map-rating", Colouring::Rating),
        (Part::AgeMap, "map-age", Colouring::Age),
        (Part::RatingAndAgeMap, "map-both", Colouring::RatingAndAge),
        (Part::DensityMap, "map-density", Colouring::Density),
    ] {
        if parts.contains(&part) {
            list.push(map(name, colouring, full, Dress::figure()));
        }
    }
    if let Some(years) = content.years.as_ref().filter(|_| parts.contains(&Part::Years)) {
        // The table below them is their legend.
        let half = ((full.0 - GUTTER_MM) / 2.0, 100.0);
        let now = map("map-now", Colouring::Rating, half, Dress::bare_figure());
        let mut then = map("map-then", Colouring::Rating, half, Dress::bare_figure());
        then.request.year = years.beside;
        then.request.fields = Some(years.fields.clone());
        list.extend([then, now]);
    }
    if parts.contains(&Part::Pages) {
        list.extend(content.pages.iter().map(|page| {
            let line = &content.lines[page.line];
            let low = page.tests.is_empty() && content.act.is_none();
            let size = if low { (FIELD_MM.0, LOW_FIELD_MM) } else { FIELD_MM };
            let mut one = map(&format!("field-{}", page.line), Colouring::Density, size, Dress::bare_figure());
            // The plan that is drawn is that of the coming season.
            one.request.year = content.season.year;
            one.request.fields = Some([line.id].into());
            one
        }));
    }
    list
}
