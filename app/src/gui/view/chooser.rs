//! Choosing a file or folder in the window itself, where the system has no dialog for it: a line with the whole place, and under it
//! what lies in that folder.

use std::path::{MAIN_SEPARATOR, Path, PathBuf};

use crate::gui::dialogs::{Asked, Question, Wanted};

/// No more entries of a folder than this are listed; typing narrows them.
const MOST: usize = 400;

/// Something in the folder.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Entry {
    /// Its name.
    pub name: String,
    /// Whether it is a folder.
    pub is_folder: bool,
}

/// The card while it is open.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Chooser {
    /// What is asked for.
    pub question: Question,
    /// What the question says.
    pub asked: Asked,
    /// The place as typed.
    pub text: String,
    /// The folder that was looked into, and what lies there: folders first, then files that fit the question.
    pub listed: Option<(PathBuf, Vec<Entry>)>,
}

impl Chooser {
    /// A card that begins in a folder.
    pub fn new(question: Question, folder: &Path) -> Self {
        let asked = question.asked();
        let mut text = folder.display().to_string();
        if !text.ends_with(MAIN_SEPARATOR) {
            text.push(MAIN_SEPARATOR);
        }
        if let Wanted::Save(name) | Wanted::Folder(name) = asked.wanted {
            text.push_str(name);
        }
        Self { question, asked, text, listed: None }
    }

    /// The folder that the line is in, and what is typed of a name there.
    fn parts(&self) -> (PathBuf, &str) {
        let cut = self.text.rfind(['/', MAIN_SEPARATOR]).map_or(0, |at| at + 1);
        let (folder, name) = self.text.split_at(cut);
        (PathBuf::from(folder), name)
    }

    /// Looks into the folder of the line if it is another than before.
    pub fn refresh(&mut self) {
        let (folder, _) = self.parts();
        if self.listed.as_ref().is_none_or(|(listed, _)| *listed != folder) {
            let entries = entries(&folder, &self.asked);
            self.listed = Some((folder, entries));
        }
    }

    /// What is listed, narrowed to what holds the typed part of a name. A proposed name to save under narrows nothing.
    pub fn shown(&self) -> impl Iterator<Item = &Entry> {
        let (_, typed) = self.parts();
        let typed = if self.asked.opens() { typed.to_lowercase() } else { String::new() };
        let listed = self.listed.iter().flat_map(|(_, entries)| entries);
        listed.filter(move |entry| entry.name.to_lowercase().contains(&typed))
    }

    /// The line with an entry taken: a folder is gone into, a file stands as the answer.
    pub fn with(&self, entry: &Entry) -> String {
        let (folder, name) = self.parts();
        let mut text = folder.join(&entry.name).display().to_string();
        if entry.is_folder {
            text.push(MAIN_SEPARATOR);
            if !self.asked.opens() {
                text.push_str(name);
            }
        }
        text
    }

    /// The line one folder up.
    pub fn up(&self) -> Option<String> {
        let (folder, name) = self.parts();
        let parent = folder.parent().filter(|parent| !parent.as_os_str().is_empty())?;
        let mut text = parent.display().to_string();
        if !text.ends_with(MAIN_SEPARATOR) {
            text.push(MAIN_SEPARATOR);
        }
        if !self.asked.opens() {
            text.push_str(name);
        }
        Some(text)
    }

    /// The answer, or what is still missing, in words.
    pub fn answer(&self) -> Result<PathBuf, String> {
        let path = PathBuf::from(self.text.trim());
        let (folder, name) = self.parts();
        let in_folder = || if folder.is_dir() { Ok(()) } else { Err(format!("There is no folder {}.", folder.display())) };
        match self.asked.wanted {
            Wanted::Open | Wanted::OpenMany if path.is_dir() || name.is_empty() => {
                Err("Choose a file, or go on into a folder.".to_owned())
            }
            Wanted::Open | Wanted::OpenMany if !path.is_file() => Err(format!("There is no file {}.", path.display())),
            Wanted::Open | Wanted::OpenMany => Ok(path),
            Wanted::Save(_) if name.trim().is_empty() => Err("Type a name for the file.".to_owned()),
            Wanted::Save(_) => in_folder().map(|()| path),
            // A folder that is not there yet is made, within one that is.
            Wanted::Folder(_) if path.is_dir() => Ok(path),
            Wanted::Folder(_) => in_folder().map(|()| path),
        }
    }

    /// Whether the answer would be written over something.
    pub fn replaces(&self) -> bool {
        matches!(self.asked.wanted, Wanted::Save(_)) && Path::new(self.text.trim()).is_file()
    }
}

fn entries(folder: &Path, asked: &Asked) -> Vec<Entry> {
    let Ok(read) = std::fs::read_dir(folder) else { return Vec::new() };
    let fits = |name: &str| {
        let ending = Path::new(name).extension().map(|ending| ending.to_string_lossy().to_lowercase());
        asked.endings.is_empty() || ending.is_some_and(|ending| asked.endings.iter().any(|known| *known == ending))
    };
    let mut list: Vec<Entry> = read
        .filter_map(Result::ok)
        .filter_map(|entry| {
            let name = entry.file_name().to_string_lossy().into_owned();
            let is_folder = entry.path().is_dir();
            let shown = !name.starts_with('.') && (is_folder || !matches!(asked.wanted, Wanted::Folder(_)) && fits(&name));
            shown.then_some(Entry { name, is_folder })
        })
        .collect();
    list.sort_by_key(|entry| (!entry.is_folder, entry.name.to_lowercase()));
    list.truncate(MOST);
    list
}

/// Where choosing begins when nothing was chosen before: the user's own folder.
pub fn home() -> PathBuf {
    let home = std::env::var_os("HOME").or_else(|| std::env::var_os("USERPROFILE")).map(PathBuf::from);
    home.filter(|home| home.is_dir()).or_else(|| std::env::current_dir().ok()).unwrap_or_else(|| PathBuf::from("."))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn folder(name: &str) -> PathBuf {
        let folder = std::env::temp_dir().join(format!("awn-chooser-{}-{name}", std::process::id()));
        std::fs::create_dir_all(folder.join("maps")).unwrap();
        for file in ["fields.shp", "fields.dbf", "notes.doc", ".hidden.shp"] {
            std::fs::write(folder.join(file), "x").unwrap();
        }
        folder
    }

    #[test]
    fn a_file_is_found_by_going_into_folders_and_typing() {
        let folder = folder("open");
        let mut chooser = Chooser::new(Question::StartBoundaries, &folder);
        chooser.refresh();
        let names = |chooser: &Chooser| chooser.shown().map(|entry| entry.name.clone()).collect::<Vec<_>>();
        assert_eq!(names(&chooser), ["maps", "fields.shp"], "folders first, only what can be read, nothing hidden");
        assert!(chooser.answer().is_err());
        chooser.text.push_str("fie");
        assert_eq!(names(&chooser), ["fields.shp"]);
        assert!(chooser.answer().unwrap_err().contains("no file"));
        let file = chooser.shown().next().unwrap().clone();
        chooser.text = chooser.with(&file);
        assert_eq!(chooser.answer(), Ok(folder.join("fields.shp")));
        chooser.text = chooser.with(&Entry { name: "maps".into(), is_folder: true });
        chooser.refresh();
        assert!(names(&chooser).is_empty());
        chooser.text = chooser.up().unwrap();
        chooser.refresh();
        assert_eq!(names(&chooser), ["maps", "fields.shp"]);
        std::fs::remove_dir_all(folder).unwrap();
    }

    #[test]
    fn a_name_to_save_under_is_kept_while_folders_change() {
        let folder = folder("save");
        let mut chooser = Chooser::new(Question::SaveReport, &folder);
        assert_eq!(chooser.answer(), Ok(folder.join("report.pdf")));
        assert!(!chooser.replaces());
        chooser.text = chooser.with(&Entry { name: "maps".into(), is_folder: true });
        assert_eq!(chooser.answer(), Ok(folder.join("maps").join("report.pdf")));
        chooser.text = chooser.up().unwrap();
        std::fs::write(folder.join("report.pdf"), "x").unwrap();
        assert!(chooser.replaces());
        chooser.text = folder.join("nowhere").join("report.pdf").display().to_string();
        assert!(chooser.answer().unwrap_err().contains("no folder"));
        std::fs::remove_dir_all(folder).unwrap();
    }
}
