//! Reports in the window: made anew when what they are made from changes, drawn page by page, written to files; maps as they are seen.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use awn_core::exchange::{DataFormat, Extent};
use awn_core::model::Records;
use awn_core::report::{
    self, Colouring as Drawn, Dress, Expected, Layers, MapRequest, Report, ReportError, ReportRequest, View,
};
use egui::ColorImage;

use crate::backdrop::{self, Background};
use crate::commands::{drawing, picture, today, write, write_data};
use crate::gui::app::App;
use crate::gui::jobs::kind::{JobKind, Outcome};
use crate::gui::view::layers::Layer;
use crate::gui::view::report::{MadeFrom, ReportView};
use crate::gui::view::{Colouring, Lens, Scouted};

/// Pixels of a page's picture for each of its points (1/72 inch).
const PIXELS: f64 = 1.6;

impl App {
    /// What a report would be made from now.
    fn report_wanted(&self) -> Option<MadeFrom> {
        let document = self.state.document.as_ref()?;
        let (view, facts) = (&self.state.view, &self.state.caches.facts);
        let request = view.report.request(&document.records, facts, view.year, &view.selected, today().unwrap_or_default());
        Some(MadeFrom { opened: self.opened, generation: document.generation, request })
    }

    /// Makes the report anew when the Report lens shows it and anything in it has changed; true if that was started.
    pub(in crate::gui) fn refresh_report(&mut self) -> bool {
        if self.state.view.lens != Lens::Report || self.jobs.is_running(JobKind::Facts) {
            return false;
        }
        let Some(wanted) = self.report_wanted() else { return false };
        if self.state.caches.report.made_from.as_ref() == Some(&wanted) {
            return false;
        }
        let Some(document) = &self.state.document else { return false };
        let (records, request) = (document.records.clone(), wanted.request.clone());
        self.state.caches.report.made_from = Some(wanted);
        self.state.caches.report.asked.clear();
        self.jobs.cancel(JobKind::Pages);
        self.jobs.start(JobKind::Report, "Setting the report", true, move |progress| {
            Outcome::Reported(Report::make(&records, &request, progress).map(Arc::new))
        });
        true
    }

    pub(in crate::gui) fn reported(&mut self, made: Result<Arc<Report>, ReportError>) {
        let pages = &mut self.state.caches.report;
        match made {
            Ok(report) => {
                pages.number += 1;
                let count = report.pages.count();
                pages.pictures.retain(|page, _| *page < count);
                pages.report = Some(report);
                pages.wrong = None;
            }
            Err(ReportError::Cancelled(_)) => pages.wrong = Some("Stopped. Change anything to make it anew.".to_owned()),
            Err(error) => pages.wrong = Some(error.to_string()),
        }
    }

    /// Draws pages that have come into view.
    pub(in crate::gui) fn draw_pages(&mut self, wanted: Vec<usize>) {
        let pages = &mut self.state.caches.report;
        let Some(report) = pages.report.clone() else { return };
        if self.jobs.is_running(JobKind::Pages) && wanted.iter().all(|page| pages.asked.contains(page)) {
            return;
        }
        pages.asked = wanted.iter().copied().collect();
        let number = pages.number;
        self.jobs.start(JobKind::Pages, "Drawing pages", false, move |progress| {
            let mut drawn = Vec::new();
            for page in wanted {
                if progress.cancelled() {
                    break;
                }
                drawn.extend(report.pages.picture(page, PIXELS).map(|picture| {
                    let size = [picture.width as usize, picture.height as usize];
                    (page, ColorImage::from_rgba_premultiplied(size, &picture.rgba))
                }));
            }
            Outcome::Paged(number, drawn)
        });
    }

    /// Writes the report as it is set now.
    pub(in crate::gui) fn export_report(&mut self, mut path: PathBuf) {
        let Some(wanted) = self.report_wanted() else { return };
        let Some(document) = &self.state.document else { return };
        if path.extension().is_none() {
            path.set_extension("pdf");
        }
        let pages = &self.state.caches.report;
        let ready = pages.report.clone().filter(|_| {
            pages.made_from.as_ref() == Some(&wanted) && !self.jobs.is_running(JobKind::Report) && pages.wrong.is_none()
        });
        let records = document.records.clone();
        self.jobs.start(JobKind::Export, "Writing the report", true, move |progress| {
            let done = written(ready.as_deref(), &records, &wanted.request, &path, progress);
            exported(path, done)
        });
    }

    /// Writes the map as it is seen: lens, colouring, layers and the ground in view.
    pub(in crate::gui) fn export_map(&mut self, mut path: PathBuf) {
        let Some(document) = &self.state.document else { return };
        if path.extension().is_none() {
            path.set_extension("png");
        }
        let view = &self.state.view;
        let lens = if view.lens == Lens::Report { view.lens_before } else { view.lens };
        let shown = |layer: Layer| view.layers.shows(lens, layer) && view.layers.opacity(layer) > 0.0;
        let colouring = match view.colouring_of(lens) {
            Colouring::Rating => Drawn::Rating,
            Colouring::RatingAndAge => Drawn::RatingAndAge,
            Colouring::Change => Drawn::Change,
            Colouring::Age => Drawn::Age,
            Colouring::Due => Drawn::Due,
            Colouring::Stage => Drawn::Stage,
            Colouring::ControlLeft => Drawn::ControlLeft,
            Colouring::AtRisk => Drawn::AtRisk,
            Colouring::Density if lens == Lens::Scout && view.scout == Scouted::Error => Drawn::Uncertainty,
            Colouring::Density => Drawn::Density,
            // The walk is shown over the density that it was made for.
            Colouring::Plain if shown(Layer::Density) => Drawn::Density,
            Colouring::Plain => Drawn::Plain,
            Colouring::Expected => Drawn::Expected,
        };
        let order = view.layers.order.iter().filter(|layer| view.layers.shows(lens, **layer));
        let layers = Layers::new(order.map(|layer| (drawn_layer(*layer), f64::from(view.layers.opacity(*layer)))));
        let request = MapRequest {
            colouring,
            of: view.rating_of.clone(),
            year: view.year,
            fields: None,
            title: String::new(),
            size_mm: view.report.sheet.size_mm,
        };
        let view_of = self.camera.bounds().map(|bounds| View { bounds, layers, patterns: view.layers.patterns });
        let expected = self.state.caches.expected.as_ref().map(|found| {
            let heads = found.heads.iter().map(|(field, band)| (*field, band.median)).collect();
            Arc::new(Expected { scenario: found.scenario.clone(), harvest: found.harvest, heads })
        });
        if colouring == Drawn::Expected && expected.is_none() {
            return self.say("Heads expected are still being drawn; write the map when they stand on it.".to_owned(), true);
        }
        let dress = Dress { view: view_of, date: today(), round: view.season.round, expected, ..Dress::default() };
        let below = if shown(Layer::Background) { view.background.clone() } else { Background::Ground };
        let (records, dpi) = (document.records.clone(), view.report.dpi);
        self.jobs.start(JobKind::Export, "Drawing the map", true, move |_| {
            let (backdrop, fault) = match backdrop::ground(&below) {
                Ok(backdrop) => (backdrop, None),
                Err(fault) => (None, Some(fault)),
            };
            let done = drawing(&records, &request, &Dress { backdrop, ..dress }, &path, dpi);
            let done = done.and_then(|(bytes, faults)| write(&path, &bytes).map(|()| faults));
            exported(
                path,
                done.map(|faults| fault.into_iter().chain(faults).collect()).map_err(|error| format!("{error:#}")),
            )
        });
    }

    /// Writes all data, or the copy to share; the format follows from the file's name.
    pub(in crate::gui) fn export_data(&mut self, mut path: PathBuf, extent: Extent) {
        let Some(document) = &self.state.document else { return };
        if path.extension().is_none() {
            path.set_extension("xlsx");
        }
        let records = document.records.clone();
        self.jobs.start(JobKind::Export, "Writing the data", true, move |_| {
            let ending = path.extension().map(|ending| ending.to_string_lossy().to_lowercase()).unwrap_or_default();
            let done = match ending.as_str() {
                "gpkg" => write_data(&records, extent, DataFormat::GeoPackage, &path),
                "zip" => write_data(&records, extent, DataFormat::Csv, &path),
                "xlsx" => write_data(&records, extent, DataFormat::Xlsx, &path),
                _ => Err(anyhow::anyhow!("all data are written as .gpkg, .xlsx or .zip (of CSV files): {}", path.display())),
            };
            Outcome::Exported(done.map(|_| path).map_err(|error| format!("{error:#}")))
        });
    }

    /// Takes a picture for the cover.
    pub(in crate::gui) fn take_picture(&mut self, path: PathBuf) {
        match picture(&path) {
            Ok(cover) => {
                let report = ReportView { picture: Some((path, Arc::new(cover))), ..self.state.view.report.clone() };
                self.state.view.report = report;
            }
            Err(error) => self.say(format!("{error:#}"), true),
        }
    }
}

/// A layer of the window, on paper.
fn drawn_layer(layer: Layer) -> report::Layer {
    match layer {
        Layer::Background => report::Layer::Background,
        Layer::Fills => report::Layer::Fills,
        Layer::Density => report::Layer::Density,
        Layer::Outlines => report::Layer::Outlines,
        Layer::NoGo => report::Layer::NoGo,
        Layer::Scouting => report::Layer::Scouting,
        Layer::Tramlines => report::Layer::Tramlines,
        Layer::Gates => report::Layer::Gates,
        Layer::Plans => report::Layer::Plans,
        Layer::Rounds => report::Layer::Rounds,
        Layer::Walked => report::Layer::Walked,
        Layer::Labels => report::Layer::Labels,
    }
}

/// What writing a file came to, with what is not as it should be in it.
fn exported(path: PathBuf, done: Result<Vec<String>, String>) -> Outcome {
    match done {
        Ok(faults) if !faults.is_empty() => Outcome::ExportedWith(path, faults),
        done => Outcome::Exported(done.map(|_| path)),
    }
}

/// Writes a report that is ready, or makes it first.
fn written(
    ready: Option<&Report>,
    records: &Records,
    request: &ReportRequest,
    path: &Path,
    progress: &dyn awn_core::progress::Progress,
) -> Result<Vec<String>, String> {
    let made;
    let report = if let Some(report) = ready {
        report
    } else {
        made = Report::make(records, request, progress).map_err(|error| error.to_string())?;
        &made
    };
    let (pdf, _) = report.pdf().map_err(|error| error.to_string())?;
    write(path, &pdf).map_err(|error| format!("{error:#}"))?;
    Ok(report.unprintable.clone().into_iter().collect())
}
