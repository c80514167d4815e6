//! What a template can see: itself, the files of its manuscript, our fonts, and the day on the pages.

use std::sync::OnceLock;

use typst::diag::{FileError, FileResult, SourceDiagnostic};
use typst::foundations::{Bytes, Datetime, Duration};
use typst::syntax::{FileId, RootedPath, Source, VirtualPath, VirtualRoot};
use typst::text::{Font, FontBook};
use typst::utils::LazyHash;
use typst::{Library, LibraryExt as _, World};

use crate::typeset::Manuscript;

/// Lato (SIL Open Font Licence), and for letters that it lacks Droid Sans Fallback (Apache License 2.0).
const FONTS: [&[u8]; 3] = [
    include_bytes!("../../../assets/fonts/Lato-Regular.ttf"),
    include_bytes!("../../../assets/fonts/Lato-Bold.ttf"),
    include_bytes!("../../../assets/fonts/DroidSansFallback.ttf"),
];

/// What is the same for every manuscript.
struct Shared {
    library: LazyHash<Library>,
    book: LazyHash<FontBook>,
    fonts: Vec<Font>,
}

fn shared() -> &'static Shared {
    static SHARED: OnceLock<Shared> = OnceLock::new();
    SHARED.get_or_init(|| {
        let fonts: Vec<Font> = FONTS.iter().filter_map(|bytes| Font::new(Bytes::new(*bytes), 0)).collect();
        Shared { library: LazyHash::new(Library::default()), book: LazyHash::new(FontBook::from_fonts(&fonts)), fonts }
    })
}

fn file_id(name: &str) -> Option<FileId> {
    Some(RootedPath::new(VirtualRoot::Project, VirtualPath::new(name).ok()?).intern())
}

/// One manuscript on the desk of the typesetter.
pub struct Desk<'a> {
    manuscript: &'a Manuscript,
    main: Source,
}

impl<'a> Desk<'a> {
    pub fn new(manuscript: &'a Manuscript) -> Self {
        let main = file_id("main.typ")
            .map_or_else(|| Source::detached(manuscript.template), |id| Source::new(id, manuscript.template.to_owned()));
        Self { manuscript, main }
    }

    /// What went wrong, with the line of the template and the hints.
    pub fn told(&self, fault: &SourceDiagnostic) -> String {
        use typst::WorldExt as _;
        let line = self.range(fault.span).and_then(|range| self.main.lines().byte_to_line(range.start));
        let place = line.map(|line| format!("line {}: ", line + 1)).unwrap_or_default();
        let hints: Vec<String> = fault.hints.iter().map(|hint| format!(" ({})", hint.v)).collect();
        format!("{place}{}{}", fault.message, hints.concat())
    }
}

impl World for Desk<'_> {
    fn library(&self) -> &LazyHash<Library> {
        &shared().library
    }

    fn book(&self) -> &LazyHash<FontBook> {
        &shared().book
    }

    fn main(&self) -> FileId {
        self.main.id()
    }

    fn source(&self, id: FileId) -> FileResult<Source> {
        if id == self.main.id() {
            return Ok(self.main.clone());
        }
        // A template may read others that lie beside it in the manuscript.
        let text = String::from_utf8(self.file(id)?.to_vec()).map_err(|_not_text| FileError::InvalidUtf8)?;
        Ok(Source::new(id, text))
    }

    fn file(&self, id: FileId) -> FileResult<Bytes> {
        let name = id.get().vpath().get_without_slash();
        self.manuscript.files.get(name).map(|bytes| Bytes::new(bytes.clone())).ok_or_else(|| missing(id))
    }

    fn font(&self, index: usize) -> Option<Font> {
        shared().fonts.get(index).cloned()
    }

    fn today(&self, _offset: Option<Duration>) -> Option<Datetime> {
        let day = self.manuscript.date;
        Datetime::from_ymd(i32::from(day.year()), day.month() as u8, day.day() as u8)
    }
}

fn missing(id: FileId) -> FileError {
    FileError::NotFound(id.get().vpath().get_without_slash().into())
}
