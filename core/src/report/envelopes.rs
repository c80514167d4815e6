//! Labels for envelopes, on a sheet of labels or one by one: the sample's code as QR and in plain letters, field, farm, year and weed;
//! day and collector are left to be written by hand until they are known.

use std::collections::BTreeMap;
use std::sync::{Arc, OnceLock};

use jiff::civil::Date;
use serde_json::{Value, json};

use crate::model::{Records, Sample, Stage};
use crate::report::qr::qr_svg;
use crate::samples::{day, species};
use crate::typeset::Manuscript;

/// A sheet of labels, mm.
#[derive(Debug, Clone, PartialEq)]
pub struct LabelSheet {
    /// What it is called: columns by rows.
    pub name: String,
    /// Width and height of the paper.
    pub paper: (f64, f64),
    /// Columns and rows of labels.
    pub count: (usize, usize),
    /// Width and height of a label.
    pub label: (f64, f64),
    /// From the left and the top edge of the paper to the first label.
    pub margin: (f64, f64),
    /// Between labels, across and down.
    pub gap: (f64, f64),
}

impl LabelSheet {
    /// A sheet from figures, checked: labels must lie on the paper and be large enough to hold a code.
    pub fn checked(self) -> Result<Self, String> {
        let (columns, rows) = self.count;
        let ends =
            |margin: f64, size: f64, gap: f64, count: usize| margin + size * count as f64 + gap * count.max(1) as f64 - gap;
        let all =
            [self.paper.0, self.paper.1, self.label.0, self.label.1, self.margin.0, self.margin.1, self.gap.0, self.gap.1];
        if all.iter().any(|value| !value.is_finite() || *value < 0.0) || columns == 0 || rows == 0 {
            return Err("a sheet of labels needs columns, rows and lengths in mm that are not negative".to_owned());
        }
        if self.label.0 < 45.0 || self.label.1 < 25.0 {
            return Err("a label is at least 45 mm wide and 25 mm high, so that the code can be read".to_owned());
        }
        let right = ends(self.margin.0, self.label.0, self.gap.0, columns);
        let bottom = ends(self.margin.1, self.label.1, self.gap.1, rows);
        if right > self.paper.0 + 0.01 || bottom > self.paper.1 + 0.01 {
            return Err(format!(
                "the labels reach {right:.1} by {bottom:.1} mm, beyond the paper of {} by {} mm",
                self.paper.0, self.paper.1
            ));
        }
        Ok(self)
    }

    /// Labels on a sheet.
    pub fn places(&self) -> usize {
        self.count.0 * self.count.1
    }

    /// Left and top edge of a label on its sheet, counted row by row from 0, mm.
    fn place(&self, number: usize) -> (f64, f64) {
        let (column, row) = (number % self.count.0, number / self.count.0);
        let at = |margin: f64, size: f64, gap: f64, number: usize| margin + number as f64 * (size + gap);
        (at(self.margin.0, self.label.0, self.gap.0, column), at(self.margin.1, self.label.1, self.gap.1, row))
    }
}

/// The sheets known, the common ones first. Source: `assets/tables/label_sheets.csv`.
pub fn label_sheets() -> &'static [LabelSheet] {
    static SHEETS: OnceLock<Vec<LabelSheet>> = OnceLock::new();
    SHEETS.get_or_init(|| {
        let lines = include_str!("../../../assets/tables/label_sheets.csv").lines();
        let rows = lines.filter(|line| !line.starts_with('#') && !line.trim().is_empty()).skip(1);
        rows.filter_map(|line| {
            let (name, figures) = line.split_once(',')?;
            sheet(name, figures).ok()
        })
        .collect()
    })
}

/// A sheet by its name, or by eleven figures less the name: paper width and height, columns, rows, label width and height, left, top,
/// space across and down.
pub fn label_sheet(text: &str) -> Result<LabelSheet, String> {
    let names = || label_sheets().iter().map(|sheet| sheet.name.as_str()).collect::<Vec<_>>().join(", ");
    if let Some(known) = label_sheets().iter().find(|sheet| sheet.name.eq_ignore_ascii_case(text.trim())) {
        return Ok(known.clone());
    }
    if text.contains(',') {
        return sheet("own", text);
    }
    Err(format!("there is no sheet of labels “{}”; use {}, or ten figures in mm joined by commas", text.trim(), names()))
}

fn sheet(name: &str, figures: &str) -> Result<LabelSheet, String> {
    let numbers: Option<Vec<f64>> = figures.split(',').map(|figure| figure.trim().parse().ok()).collect();
    let Some([paper_width, paper_height, columns, rows, width, height, left, top, across, down]) = numbers.as_deref() else {
        return Err(
            "a sheet of labels has ten figures: paper width and height, columns, rows, label width and height, left \
                    and top margin, space across and down, in mm"
                .to_owned(),
        );
    };
    LabelSheet {
        name: name.to_owned(),
        paper: (*paper_width, *paper_height),
        count: (*columns as usize, *rows as usize),
        label: (*width, *height),
        margin: (*left, *top),
        gap: (*across, *down),
    }
    .checked()
}

/// The labels of samples, in the order given, from a label of the first sheet on (counted from 1). Errors say what to do.
pub fn envelope_labels(
    records: &Records,
    samples: &[Arc<Sample>],
    sheet: &LabelSheet,
    from: usize,
    today: Date,
) -> Result<Manuscript, String> {
    if samples.is_empty() {
        return Err("there is no sample to label; plan samples first".to_owned());
    }
    if !(1..=sheet.places()).contains(&from) {
        return Err(format!("the first label is from 1 to {} on this sheet", sheet.places()));
    }
    let mut files = BTreeMap::new();
    let mut pages: Vec<Vec<Value>> = Vec::new();
    for (number, sample) in (from - 1..).zip(samples) {
        let (page, place) = (number / sheet.places(), number % sheet.places());
        pages.resize(pages.len().max(page + 1), Vec::new());
        let file = format!("qr-{number}.svg");
        let svg = qr_svg(&sample.code).ok_or_else(|| format!("the code {} is too long for a label", sample.code))?;
        files.insert(file.clone(), svg.into_bytes());
        let (x, y) = sheet.place(place);
        let mut label = told(records, sample);
        label["qr"] = json!(file);
        label["x"] = json!(x);
        label["y"] = json!(y);
        if let Some(page) = pages.get_mut(page) {
            page.push(label);
        }
    }
    let data = json!({
        "title": "Labels for envelopes", "paper": [sheet.paper.0, sheet.paper.1], "label": [sheet.label.0, sheet.label.1],
        "pages": pages,
    });
    files.insert("data.json".to_owned(), data.to_string().into_bytes());
    Ok(Manuscript { template: include_str!("../../../assets/pages/envelopes.typ"), files, date: today })
}

fn told(records: &Records, sample: &Sample) -> Value {
    let field = records.fields.get(&sample.field);
    let farm = field.map_or("", |field| records.farm_name(field));
    let weed = species(&sample.species);
    let collected = sample.events.iter().rev().find(|event| event.stage == Stage::Collected);
    let of = records.plan_of(sample.field, sample.year).filter(|plan| plan.samples() > 1);
    let envelope = of.map(|plan| format!("envelope {} of {}", sample.unit, plan.samples()));
    let more: Vec<String> =
        envelope.into_iter().chain(Some(sample.patches.clone())).filter(|text| !text.is_empty()).collect();
    json!({
        "code": sample.code, "field": field.map_or("", |field| field.name.as_str()), "farm": farm, "year": sample.year,
        "weed": weed.words(), "taken": sample.taken.map(day),
        "collector": collected.map(|event| event.person.as_str()).filter(|person| !person.trim().is_empty()),
        "more": more.join(", "),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_sheet_fits_its_paper() {
        let names: Vec<_> = label_sheets().iter().map(|sheet| sheet.name.as_str()).collect();
        assert_eq!(names, ["3x7", "3x8", "2x7", "2x5", "2x4", "single"]);
        for sheet in label_sheets().iter().filter(|sheet| sheet.name != "single") {
            assert_eq!(sheet.name, format!("{}x{}", sheet.count.0, sheet.count.1));
            let (x, y) = sheet.place(sheet.places() - 1);
            let (right, below) = (sheet.paper.0 - x - sheet.label.0, sheet.paper.1 - y - sheet.label.1);
            // Sheets are symmetric.
            assert!(
                (right - sheet.margin.0).abs() < 0.2 && (below - sheet.margin.1).abs() < 0.3,
                "{}: {right} {below}",
                sheet.name
            );
        }
        assert!(label_sheet("210,297,2,4,99.1,80,4.65,13.1,2.5,0").unwrap_err().contains("beyond the paper"));
        assert!(label_sheet("9x9").unwrap_err().contains("3x7"));
    }
}
