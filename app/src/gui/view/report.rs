//! What the Report lens shows: what the next report shall hold, and the pages of the last one that was made.

use std::cell::OnceCell;
use std::collections::{BTreeMap, BTreeSet};
use std::path::PathBuf;
use std::sync::Arc;

use awn_core::model::{FieldId, Rating, Records};
use awn_core::report::{Cover, Paper, Part, Report, ReportRequest, Version};
use jiff::civil::Date;

use crate::gui::facts::Facts;

/// The fields a report is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum About {
    /// All of the harvest.
    #[default]
    All,
    /// All fields of the farms of the chosen ones.
    Farms,
    /// The chosen ones.
    Chosen,
}

/// The fields that get a page.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum PagesFor {
    /// All that the report is about.
    #[default]
    All,
    /// Those that are due.
    Due,
    /// Those rated RR or RRR.
    Resistant,
    /// The chosen ones.
    Chosen,
}

/// Size of an exported map.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MapSheet {
    /// Name, as on paper.
    pub name: &'static str,
    /// Width and height, mm.
    pub size_mm: (f64, f64),
}

impl MapSheet {
    /// The sizes offered.
    pub const ALL: [Self; 5] = [
        Self { name: "A5", size_mm: (210.0, 148.0) },
        Self { name: "A4", size_mm: (297.0, 210.0) },
        Self { name: "A4 upright", size_mm: (210.0, 297.0) },
        Self { name: "A3", size_mm: (420.0, 297.0) },
        Self { name: "Letter", size_mm: (279.4, 215.9) },
    ];
}

/// What the next report shall hold.
#[derive(Debug, Clone, PartialEq)]
pub struct ReportView {
    /// Whom it is for.
    pub version: Version,
    /// Its parts.
    pub parts: BTreeSet<Part>,
    /// Title; empty: the usual one.
    pub title: String,
    /// Who answers for it.
    pub author: String,
    /// Picture on the cover, with the file it came from.
    pub picture: Option<(PathBuf, Arc<Cover>)>,
    /// Paper.
    pub paper: Paper,
    /// Which fields.
    pub about: About,
    /// Which of them get a page.
    pub pages: PagesFor,
    /// The harvest set beside the present one, where two are compared.
    pub beside: Option<i32>,
    /// Size of an exported map.
    pub sheet: MapSheet,
    /// Dots per inch of an exported map.
    pub dpi: f64,
}

impl Default for ReportView {
    fn default() -> Self {
        Self {
            version: Version::Consultant,
            parts: Version::Consultant.parts(),
            title: String::new(),
            author: String::new(),
            picture: None,
            paper: Paper::A4,
            about: About::All,
            pages: PagesFor::All,
            beside: None,
            sheet: MapSheet::ALL[1],
            dpi: 300.0,
        }
    }
}

impl ReportView {
    /// The request to the core for a harvest year and the fields chosen now.
    pub fn request(
        &self,
        records: &Records,
        facts: &Facts,
        year: i32,
        chosen: &BTreeSet<FieldId>,
        date: Date,
    ) -> ReportRequest {
        let farms: BTreeSet<_> = chosen.iter().filter_map(|id| records.fields.get(id)).map(|field| field.farm).collect();
        let fields = match self.about {
            _ if chosen.is_empty() => None,
            About::All => None,
            About::Farms => {
                Some(records.fields.values().filter(|f| farms.contains(&f.farm)).map(|field| field.id).collect())
            }
            About::Chosen => Some(chosen.clone()),
        };
        let rows = |wanted: fn(&crate::gui::facts::Row) -> bool| -> BTreeSet<FieldId> {
            facts.rows.iter().filter(|row| wanted(row)).map(|row| row.id).collect()
        };
        let pages = match self.pages {
            PagesFor::All => None,
            PagesFor::Due => Some(rows(|row| row.due)),
            PagesFor::Resistant => Some(rows(|row| row.worst >= Some(Rating::RR))),
            PagesFor::Chosen => Some(chosen.clone()),
        };
        let mut parts = self.parts.clone();
        if self.beside.is_none() {
            parts.remove(&Part::Years);
        }
        ReportRequest {
            fields,
            pages,
            parts,
            version: self.version,
            title: self.title.clone(),
            author: self.author.clone(),
            cover: self.picture.as_ref().map(|(_, cover)| cover.clone()),
            paper: self.paper,
            beside: self.beside,
            ..ReportRequest::new(year, date)
        }
    }
}

/// What a report was made from; it is made anew when this changes.
#[derive(Debug, Clone, PartialEq)]
pub struct MadeFrom {
    /// Project.
    pub opened: u64,
    /// State of its records.
    pub generation: u64,
    /// What was asked for.
    pub request: ReportRequest,
}

/// A page as a picture; the window's own copy of it is made when it is first drawn.
#[derive(Default)]
pub struct PagePicture {
    /// The pixels.
    pub image: Arc<egui::ColorImage>,
    texture: OnceCell<egui::TextureHandle>,
}

impl PagePicture {
    /// A picture of a page.
    pub fn new(image: egui::ColorImage) -> Self {
        Self { image: Arc::new(image), texture: OnceCell::new() }
    }

    /// The texture to draw.
    pub fn texture(&self, ctx: &egui::Context) -> &egui::TextureHandle {
        self.texture.get_or_init(|| ctx.load_texture("page", self.image.clone(), egui::TextureOptions::LINEAR))
    }
}

/// The pages of the last report that was made.
#[derive(Default)]
pub struct ReportPages {
    /// The report; none until the first one is made.
    pub report: Option<Arc<Report>>,
    /// Counts reports.
    pub number: u64,
    /// Pictures of pages by their number, counted from 0, with the number of the report that they are of: those of the report before
    /// stand until the new ones have been drawn.
    pub pictures: BTreeMap<usize, (u64, PagePicture)>,
    /// Pages that are being drawn.
    pub asked: BTreeSet<usize>,
    /// What the newest report was asked for with.
    pub made_from: Option<MadeFrom>,
    /// What went wrong with the last one.
    pub wrong: Option<String>,
}

impl ReportPages {
    /// Pictures kept at most.
    const KEPT: usize = 24;

    /// Keeps new pictures, and lets go of those farthest from them.
    pub fn keep(&mut self, number: u64, pictures: Vec<(usize, egui::ColorImage)>) {
        let Some(near) = pictures.first().map(|(page, _)| *page) else { return };
        for (page, image) in pictures {
            self.asked.remove(&page);
            self.pictures.insert(page, (number, PagePicture::new(image)));
        }
        while self.pictures.len() > Self::KEPT {
            let Some(farthest) = self.pictures.keys().copied().max_by_key(|page| page.abs_diff(near)) else { break };
            self.pictures.remove(&farthest);
        }
    }

    /// Whether a page still has to be drawn.
    pub fn lacks(&self, page: usize) -> bool {
        self.pictures.get(&page).is_none_or(|(number, _)| *number != self.number)
    }
}
