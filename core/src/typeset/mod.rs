//! Pages for print: a template and its data to PDF, or to pictures of its pages.
//!
//! Takes a [`Manuscript`]: a template in Typst's language and named files that it may read (data as JSON, maps as SVG, pictures).
//! What people have typed goes in as data, never as part of the template, so that no text of theirs is taken for markup.
//! Nothing is read from the disk or the network; letters come from the fonts in the program. Same input, same bytes.
//! Lengths are the template's own; pictures are in pixels a point (1/72 inch).

mod world;

use std::collections::BTreeMap;

use jiff::civil::Date;
use typst::foundations::{Datetime, Smart};
use typst_layout::PagedDocument;
use typst_pdf::{PdfOptions, PdfStandard, PdfStandards, Timestamp};
use typst_render::RenderOptions;

/// A template with what it reads.
#[derive(Debug, Clone)]
pub struct Manuscript {
    /// The template, in Typst's language.
    pub template: &'static str,
    /// Files by the name under which the template reads them: `data.json`, `map-1.svg`.
    pub files: BTreeMap<String, Vec<u8>>,
    /// The day the pages bear; also that of the PDF.
    pub date: Date,
}

/// Pages could not be made: a fault of the template, or a file that it cannot read.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("the pages could not be typeset: {0}")]
pub struct TypesetError(pub String);

/// How long the PDF is to be readable.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Archival {
    /// Tagged PDF 1.7.
    #[default]
    No,
    /// PDF/A-2a (ISO 19005-2): tagged, everything embedded.
    A2a,
}

/// One page as a picture.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Picture {
    /// Width, pixels.
    pub width: u32,
    /// Height, pixels.
    pub height: u32,
    /// Red, green, blue and opacity of each pixel, row by row; pages are opaque.
    pub rgba: Vec<u8>,
}

/// Typeset pages.
#[derive(Debug)]
pub struct Pages {
    document: PagedDocument,
    date: Date,
}

/// Typesets a manuscript.
pub fn typeset(manuscript: &Manuscript) -> Result<Pages, TypesetError> {
    let desk = world::Desk::new(manuscript);
    let document = typst::compile::<PagedDocument>(&desk).output.map_err(|faults| {
        let told = faults.iter().map(|fault| desk.told(fault));
        TypesetError(told.collect::<Vec<_>>().join("; "))
    });
    // What was kept to typeset the same pages again goes after a few other manuscripts.
    typst::comemo::evict(5);
    Ok(Pages { document: document?, date: manuscript.date })
}

impl Pages {
    /// How many pages there are.
    pub fn count(&self) -> usize {
        self.document.pages().len()
    }

    /// The pages as one PDF, tagged for screen readers.
    pub fn pdf(&self, archival: Archival) -> Result<Vec<u8>, TypesetError> {
        let standards = match archival {
            Archival::No => PdfStandards::default(),
            Archival::A2a => {
                PdfStandards::new(&[PdfStandard::A_2a]).map_err(|error| TypesetError(error.message().to_string()))?
            }
        };
        let day = self.date;
        let stamp = Datetime::from_ymd_hms(i32::from(day.year()), day.month() as u8, day.day() as u8, 0, 0, 0);
        let options = PdfOptions {
            creator: Smart::Custom(Some("Awn".into())),
            timestamp: stamp.map(Timestamp::new_utc),
            standards,
            ..PdfOptions::default()
        };
        typst_pdf::pdf(&self.document, &options).map_err(|faults| {
            let told: Vec<_> = faults.iter().map(|fault| fault.message.to_string()).collect();
            TypesetError(told.join("; "))
        })
    }

    /// A page as a picture, counted from 0, at so many pixels a point; none: there is no such page.
    pub fn picture(&self, page: usize, pixels_per_point: f64) -> Option<Picture> {
        let page = self.document.pages().get(page)?;
        let options = RenderOptions { pixel_per_pt: pixels_per_point.clamp(0.1, 20.0).into(), ..RenderOptions::default() };
        let drawn = typst_render::render(page, &options);
        Some(Picture { width: drawn.width(), height: drawn.height(), rgba: drawn.data().to_vec() })
    }

    /// Width and height of a page, counted from 0, in points.
    pub fn size(&self, page: usize) -> Option<(f64, f64)> {
        let size = self.document.pages().get(page)?.frame.size();
        Some((size.x.to_pt(), size.y.to_pt()))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn manuscript(template: &'static str, data: &str) -> Manuscript {
        let files = BTreeMap::from([("data.json".to_owned(), data.as_bytes().to_vec())]);
        Manuscript { template, files, date: jiff::civil::date(2027, 7, 14) }
    }

    const NAMES: &str = r#"#set document(title: "Names")
#set page(width: 100pt, height: 100pt)
#set text(font: "Lato", lang: "en", region: "gb")
#let data = json("data.json")
#for name in data.names [ #name #pagebreak(weak: true) ]"#;

    #[test]
    fn same_input_gives_the_same_pdf() {
        let made = || typeset(&manuscript(NAMES, r#"{"names": ["Long Acre", "Mill Field"]}"#)).unwrap();
        let pages = made();
        assert_eq!(pages.count(), 2);
        assert_eq!(pages.size(0), Some((100.0, 100.0)));
        let pdf = pages.pdf(Archival::A2a).unwrap();
        assert!(pdf.starts_with(b"%PDF-1.7"));
        assert_eq!(pdf, made().pdf(Archival::A2a).unwrap());
    }

    #[test]
    fn typed_text_is_never_markup() {
        let pages = typeset(&manuscript(NAMES, r##"{"names": ["#pagebreak() *x* $ [ ] \\ \" <a> @b"]}"##)).unwrap();
        assert_eq!(pages.count(), 1);
    }

    #[test]
    fn pictures_have_the_size_asked_for() {
        let pages = typeset(&manuscript(NAMES, r#"{"names": ["Long Acre"]}"#)).unwrap();
        let picture = pages.picture(0, 2.0).unwrap();
        assert_eq!((picture.width, picture.height, picture.rgba.len()), (200, 200, 160_000));
        assert!(pages.picture(1, 2.0).is_none());
    }

    #[test]
    fn a_missing_file_is_named() {
        let error = typeset(&manuscript("#image(\"map.svg\")", "{}")).unwrap_err();
        assert!(error.to_string().contains("map.svg"), "{error}");
    }
}
