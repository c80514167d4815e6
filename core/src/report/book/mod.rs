//! A report on paper: its content and maps as a manuscript for the typesetter, then as PDF or pictures of pages.
//!
//! All figures come from [`Content`], written here as they are shown; the template only sets them. What people have typed goes in
//! as data. Characters that the typeface lacks are shown as "?".

mod act;
mod field_pages;
mod figures;
mod parts;
mod tables;

use std::collections::BTreeMap;

use serde_json::{Value, json};

use crate::model::{Rating, Records};
use crate::progress::{Cancelled, Progress};
use crate::report::content::Content;
use crate::report::request::{Part, ReportRequest, Version};
use crate::report::{lettering, palette, svg};
use crate::typeset::{self, Archival, Manuscript, Pages, TypesetError};

/// The template.
const TEMPLATE: &str = include_str!("../../../../assets/pages/report.typ");
/// What it reads for programmes, money and coming years.
const ACT_TEMPLATE: &str = include_str!("../../../../assets/pages/report-act.typ");

/// A report could not be made.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum ReportError {
    /// The caller asked the work to stop.
    #[error(transparent)]
    Cancelled(#[from] Cancelled),
    /// The picture of the cover cannot be used.
    #[error("the picture cannot be used: {0}")]
    Picture(String),
    /// A fault of the typesetter.
    #[error(transparent)]
    Typeset(#[from] TypesetError),
}

/// A report in pages.
#[derive(Debug)]
pub struct Report {
    /// What it says.
    pub content: Content,
    /// Its pages.
    pub pages: Pages,
    /// Names and other texts in which "?" stands for letters that the typeface lacks, as a sentence; none: there are none.
    pub unprintable: Option<String>,
}

impl Report {
    /// Works out and typesets a report. Same records and request, same pages.
    pub fn make(records: &Records, request: &ReportRequest, progress: &dyn Progress) -> Result<Self, ReportError> {
        let content = Content::of(records, request, progress)?;
        let (manuscript, unprintable) = manuscript(records, request, &content, progress)?;
        let pages = typeset::typeset(&manuscript).map_err(|error| {
            // Of all that is read, only the cover's picture comes from outside.
            let by_picture = request.cover.is_some() && error.0.contains("image");
            if by_picture { ReportError::Picture(error.0) } else { ReportError::Typeset(error) }
        })?;
        progress.check(1, 1)?;
        Ok(Self { content, pages, unprintable })
    }

    /// The report as PDF, and whether it keeps to PDF/A-2a: it is written as such if the typesetter's checks allow it, which a picture
    /// in odd colours on the cover may not; then it is a tagged PDF 1.7.
    pub fn pdf(&self) -> Result<(Vec<u8>, Archival), TypesetError> {
        match self.pages.pdf(Archival::A2a) {
            Ok(pdf) => Ok((pdf, Archival::A2a)),
            Err(_) => Ok((self.pages.pdf(Archival::No)?, Archival::No)),
        }
    }
}

/// The template with all it reads, and a sentence about letters that cannot be printed.
fn manuscript(
    records: &Records,
    request: &ReportRequest,
    content: &Content,
    progress: &dyn Progress,
) -> Result<(Manuscript, Option<String>), ReportError> {
    let mut files = BTreeMap::new();
    let figures = figures::all(records, request, content, &mut files, progress)?;
    let mut cover = Value::Null;
    if let Some(picture) = &request.cover {
        let name = format!("cover.{}", checked(picture)?);
        files.insert(name.clone(), picture.bytes.clone());
        cover = json!(name);
    }
    let words = &request.words;
    let date = |key: &str| request.date.strftime(&words.say(key, &[])).to_string();
    let title = request.title.trim();
    let mut data = json!({
        "words": words.all(),
        "palette": colours(),
        "paper": request.paper.name(),
        "consultant": request.version == Version::Consultant,
        "title": if title.is_empty() { words.say("title", &[]) } else { title.to_owned() },
        "project": content.project,
        "author": request.author.trim(),
        "date": date("date"),
        "year": request.year,
        "farms": content.farms,
        "picture": cover,
        "figures": figures,
        "parts": parts::shown(request, content).iter().map(|part| part.label()).collect::<Vec<_>>(),
        "summary": parts::summary(request, content),
        "season": parts::season(request, content),
        "act": act::part(request, content),
        "fields": tables::fields(request, content),
        "pages": field_pages::pages(request, content),
        "years": tables::years(request, content),
        "hidden": tables::farms(request, content),
        "method": parts::method(request, content),
        "cautions": parts::cautions(request),
        "sources": tables::sources(request, content),
    });
    let unprintable = lettering::unprintable(texts(&data));
    legible(&mut data);
    files.insert("data.json".to_owned(), data.to_string().into_bytes());
    files.insert("report-act.typ".to_owned(), ACT_TEMPLATE.as_bytes().to_vec());
    Ok((Manuscript { template: TEMPLATE, files, date: request.date }, unprintable))
}

/// The ending that names the picture's format, by its first bytes; a file that is none of ours is refused here with a clear word.
fn checked(picture: &crate::report::request::Cover) -> Result<&'static str, ReportError> {
    let bytes = &picture.bytes;
    let starts = |with: &[u8]| bytes.starts_with(with);
    if starts(b"\x89PNG\r\n\x1a\n") {
        Ok("png")
    } else if starts(&[0xff, 0xd8, 0xff]) {
        Ok("jpg")
    } else if starts(b"GIF8") {
        Ok("gif")
    } else if starts(b"RIFF") && bytes.get(8..12) == Some(b"WEBP") {
        Ok("webp")
    } else if std::str::from_utf8(bytes).is_ok_and(|text| text.contains("<svg")) {
        Ok("svg")
    } else {
        let all = crate::report::request::Cover::ENDINGS.join(", ");
        Err(ReportError::Picture(format!("it is none of {all}")))
    }
}

fn colours() -> Value {
    let mut ratings = serde_json::Map::new();
    for rating in Rating::ALL {
        let colour = palette::RATING[rating as usize];
        let pair = json!({ "fill": svg::colour(colour), "ink": svg::colour(palette::text_on(colour)) });
        ratings.insert(rating.label().to_owned(), pair);
    }
    json!({
        "ratings": ratings,
        "ground": svg::colour(palette::GROUND),
        "panel": svg::colour(palette::PANEL),
        "line": svg::colour(palette::LINE),
        "ink": svg::colour(palette::INK),
        "muted": svg::colour(palette::MUTED),
    })
}

/// Puts "?" for every character that the typeface lacks, in all texts of a value.
fn legible(value: &mut Value) {
    match value {
        Value::String(text) => *text = lettering::legible(text),
        Value::Array(list) => list.iter_mut().for_each(legible),
        Value::Object(map) => map.values_mut().for_each(legible),
        _ => {}
    }
}

/// All texts of a value.
fn texts(value: &Value) -> Vec<&str> {
    match value {
        Value::String(text) => vec![text],
        Value::Array(list) => list.iter().flat_map(texts).collect(),
        Value::Object(map) => map.values().flat_map(texts).collect(),
        _ => Vec::new(),
    }
}

/// Whether a part has something to show.
fn is_empty(part: Part, content: &Content) -> bool {
    match part {
        Part::Cover | Part::Summary | Part::Method | Part::Cautions | Part::Sources => false,
        Part::Act => content.act.as_ref().is_none_or(|act| act.checks.fields.is_empty()),
        Part::Pages => content.pages.is_empty(),
        Part::Years => content.years.is_none(),
        Part::Farms => content.hidden.is_empty(),
        Part::DensityMap => content.surveys.is_empty() || content.lines.is_empty(),
        Part::RatingMap | Part::AgeMap | Part::RatingAndAgeMap | Part::Season | Part::Fields => content.lines.is_empty(),
    }
}
