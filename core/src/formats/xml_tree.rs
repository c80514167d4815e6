//! XML as a tree of places in its text.
//!
//! A general tree takes several hundred bytes for a point of a track that is written in fifty. Here an element or a text is four
//! numbers that say where it stands, and its attributes and texts are read when they are asked for, so that the tree of a file is
//! about as large as the file. What is an element, an attribute or a text is found by crate `quick-xml`. Names are taken without
//! their prefix, as readers want them whatever it is.
//!
//! Document types are refused: with them entities could make a small file endless (OWASP, "XML external entity prevention"), and no
//! format read here has need of one. Signs that the standard would have written as entities are let pass, as files with "Smith &
//! Sons" in them are common.

use std::borrow::Cow;
use std::collections::BTreeMap;
use std::ops::Range;

use quick_xml::escape::resolve_predefined_entity;
use quick_xml::events::attributes::Attributes;
use quick_xml::events::{BytesRef, BytesStart, Event};
use quick_xml::{Error, Reader};

/// Elements within elements deeper than this are no file of a farm.
pub(super) const DEEPEST: usize = 256;

/// Why a text is no document: what is wrong, and in which line.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Fault {
    /// A document type.
    Doctype,
    /// Elements within elements beyond [`DEEPEST`].
    TooDeep,
    /// Anything else.
    Damaged(String, usize),
}

/// What is done with texts of nothing but blanks between elements.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Blanks {
    /// They only set the file out.
    Dropped,
    /// They may stand between words.
    Kept,
}

/// An element or a text.
#[derive(Debug, Clone, Copy)]
struct Record {
    /// Of an element the first byte of its name, of a text its first.
    from: u32,
    /// The byte after its tag (without the bracket), or after the text.
    to: u32,
    /// The element around it, by its place in the list; the first element is around itself.
    around: u32,
    /// The place in the list after all that lies inside.
    after: u32,
}

/// A document.
#[derive(Debug)]
pub(super) struct Document<'d> {
    text: &'d str,
    list: Vec<Record>,
    /// Values of attributes with entities in them, by element and number of the attribute.
    decoded: BTreeMap<(u32, usize), String>,
}

/// An element or a text of a document.
#[derive(Debug, Clone, Copy)]
pub(super) struct Node<'a, 'd> {
    document: &'a Document<'d>,
    index: u32,
}

impl PartialEq for Node<'_, '_> {
    fn eq(&self, other: &Self) -> bool {
        self.index == other.index && std::ptr::eq(self.document, other.document)
    }
}

/// A name without its prefix.
#[derive(Debug, Clone, Copy)]
pub(super) struct Name<'d>(&'d str);

impl<'d> Name<'d> {
    /// The name; empty for a text.
    pub fn name(self) -> &'d str {
        self.0
    }
}

/// An attribute: its name without prefix, and its value.
#[derive(Debug, Clone, Copy)]
pub(super) struct Attribute<'a> {
    name: &'a str,
    value: &'a str,
}

impl<'a> Attribute<'a> {
    pub fn name(&self) -> &'a str {
        self.name
    }

    pub fn value(&self) -> &'a str {
        self.value
    }
}

impl<'d> Document<'d> {
    /// The tree of a text.
    pub fn parse(text: &'d str, blanks: Blanks) -> Result<Self, Fault> {
        let text = text.trim_start_matches('\u{feff}');
        let damaged = |what: &str, at: usize| Fault::Damaged(what.to_owned(), line_of(text, at));
        // Places are kept in four bytes.
        if text.len() >= u32::MAX as usize {
            return Err(damaged("it is larger than 4 GB", 0));
        }
        let mut document = Self { text, list: Vec::new(), decoded: BTreeMap::new() };
        let mut open: Vec<u32> = Vec::new();
        let mut words: Option<Range<usize>> = None;
        let mut reader = Reader::from_str(text);
        reader.config_mut().allow_dangling_amp = true;
        loop {
            let from = reader.buffer_position() as usize;
            let event = reader.read_event().map_err(|error| damaged(&said(&error), reader.error_position() as usize))?;
            let to = reader.buffer_position() as usize;
            if matches!(event, Event::Text(_) | Event::GeneralRef(_)) {
                // One text, with the entities in it.
                words.get_or_insert(from..to).end = to;
                continue;
            }
            if let Some(words) = words.take() {
                document.push_text(words, open.last().copied(), blanks)?;
            }
            match event {
                Event::Start(tag) => {
                    let index = document.push_element(from + 1..to - 1, &tag, open.last().copied())?;
                    open.push(index);
                    if open.len() > DEEPEST {
                        return Err(Fault::TooDeep);
                    }
                }
                Event::Empty(tag) => {
                    document.push_element(from + 1..to - 2, &tag, open.last().copied())?;
                }
                Event::End(_) => {
                    if let Some(element) = open.pop() {
                        document.close(element);
                    }
                }
                Event::CData(_) => {
                    let around = open.last().copied().ok_or_else(|| damaged(OUTSIDE, from))?;
                    document.push(from + CDATA.len()..to - CDATA_END.len(), Some(around));
                }
                Event::DocType(_) => return Err(Fault::Doctype),
                Event::Eof => break,
                Event::Text(_) | Event::GeneralRef(_) | Event::Comment(_) | Event::Decl(_) | Event::PI(_) => {}
            }
        }
        match (open.is_empty(), document.list.is_empty()) {
            (true, false) => Ok(document),
            (true, true) => Err(damaged("it has no element", 0)),
            _ => Err(damaged("it ends before its elements are closed", text.len())),
        }
    }

    fn push(&mut self, place: Range<usize>, around: Option<u32>) -> u32 {
        let index = self.list.len() as u32;
        let around = around.unwrap_or(index);
        self.list.push(Record { from: place.start as u32, to: place.end as u32, around, after: index + 1 });
        index
    }

    fn push_text(&mut self, place: Range<usize>, around: Option<u32>, blanks: Blanks) -> Result<(), Fault> {
        let words = self.text.get(place.clone()).unwrap_or_default();
        let blank = words.trim().is_empty();
        let Some(around) = around else {
            // Some files are filled up with zeros.
            let blank = words.chars().all(|c| c.is_whitespace() || c == '\0');
            let fault = || Fault::Damaged(OUTSIDE.to_owned(), line_of(self.text, place.start));
            return if blank { Ok(()) } else { Err(fault()) };
        };
        // Blanks beside another text, which a comment or CDATA has cut in two, belong to it.
        let last = self.list.len() as u32 - 1;
        let goes_on = last != around && self.record(last).around == around && self.before(last) != b'<';
        if !blank || blanks == Blanks::Kept || goes_on {
            self.push(place, Some(around));
        }
        Ok(())
    }

    fn push_element(&mut self, place: Range<usize>, tag: &BytesStart<'_>, around: Option<u32>) -> Result<u32, Fault> {
        let fault = |what: &str| Err(Fault::Damaged(what.to_owned(), line_of(self.text, place.start)));
        if !tag.name().as_ref().starts_with(|c: char| c.is_alphabetic() || matches!(c, '_' | ':')) {
            return fault("a tag has no name");
        }
        if around.is_none() && !self.list.is_empty() {
            return fault("a second element stands beside the outermost");
        }
        let index = self.push(place, around);
        if tag.contains('&') {
            for (number, (_, value)) in attributes_of(tag).enumerate() {
                if value.contains('&') {
                    self.decoded.insert((index, number), without_entities(value));
                }
            }
        }
        Ok(index)
    }

    fn close(&mut self, index: u32) {
        let after = self.list.len() as u32;
        if let Some(record) = self.list.get_mut(index as usize) {
            record.after = after;
        }
    }

    fn record(&self, index: u32) -> Record {
        self.list.get(index as usize).copied().unwrap_or(Record { from: 0, to: 0, around: index, after: index + 1 })
    }

    fn slice(&self, index: u32) -> &'d str {
        let record = self.record(index);
        self.text.get(record.from as usize..record.to as usize).unwrap_or_default()
    }

    /// What stands before the first byte tells elements ("<"), texts ("]]>" or ">") and CDATA ("[") apart.
    fn before(&self, index: u32) -> u8 {
        let from = self.record(index).from as usize;
        from.checked_sub(1).and_then(|at| self.text.as_bytes().get(at)).copied().unwrap_or_default()
    }

    fn whole_name(&self, index: u32) -> &'d str {
        let tag = self.slice(index);
        tag.get(..name_length(tag)).unwrap_or_default()
    }

    /// The outermost element.
    pub fn root_element(&self) -> Node<'_, 'd> {
        Node { document: self, index: 0 }
    }

    /// Every element and text.
    pub fn descendants(&self) -> impl Iterator<Item = Node<'_, 'd>> {
        self.root_element().descendants()
    }
}

impl<'a, 'd> Node<'a, 'd> {
    fn at(self, index: u32) -> Self {
        Self { index, ..self }
    }

    pub fn is_element(&self) -> bool {
        self.document.before(self.index) == b'<'
    }

    /// The name without prefix.
    pub fn tag_name(&self) -> Name<'d> {
        if !self.is_element() {
            return Name("");
        }
        let name = self.document.whole_name(self.index);
        Name(name.rsplit(':').next().unwrap_or_default())
    }

    /// The value of the attribute of a name; those with a prefix are others.
    pub fn attribute(&self, name: &str) -> Option<&'a str> {
        self.all_attributes().find(|(whole, _)| *whole == name).map(|(_, value)| value)
    }

    /// All attributes but those that declare prefixes.
    pub fn attributes(&self) -> impl Iterator<Item = Attribute<'a>> + use<'a> {
        let own = self.all_attributes().filter(|(whole, _)| *whole != "xmlns" && !whole.starts_with("xmlns:"));
        own.map(|(whole, value)| Attribute { name: whole.rsplit(':').next().unwrap_or_default(), value })
    }

    fn all_attributes(&self) -> impl Iterator<Item = (&'a str, &'a str)> + use<'a> {
        let (document, index): (&'a Document<'_>, _) = (self.document, self.index);
        let tag = if self.is_element() { document.slice(index) } else { "" };
        attributes_of(tag).enumerate().map(move |(number, (name, value))| {
            let decoded = if value.contains('&') { document.decoded.get(&(index, number)) } else { None };
            (name, decoded.map_or(value, String::as_str))
        })
    }

    /// Elements and texts directly inside.
    pub fn children(&self) -> impl Iterator<Item = Self> + use<'a, 'd> {
        let (node, end) = (*self, self.document.record(self.index).after);
        let mut next = self.index + 1;
        std::iter::from_fn(move || {
            (next < end).then(|| {
                let child = node.at(next);
                next = node.document.record(next).after;
                child
            })
        })
    }

    /// The node and all elements and texts inside it.
    pub fn descendants(&self) -> impl Iterator<Item = Self> + use<'a, 'd> {
        let node = *self;
        (self.index..self.document.record(self.index).after).map(move |index| node.at(index))
    }

    /// The node and all elements around it, the outermost last.
    pub fn ancestors(&self) -> impl Iterator<Item = Self> + use<'a, 'd> {
        std::iter::successors(Some(*self), Self::parent_element)
    }

    /// The element around it.
    pub fn parent_element(&self) -> Option<Self> {
        let around = self.document.record(self.index).around;
        (around != self.index).then(|| self.at(around))
    }

    /// Of a text: what it says, without entities.
    pub fn own_text(&self) -> Cow<'d, str> {
        let text = self.document.slice(self.index);
        // In CDATA every sign stands for itself.
        if self.document.before(self.index) != b'[' && text.contains('&') {
            Cow::Owned(without_entities(text))
        } else {
            Cow::Borrowed(text)
        }
    }

    /// The texts directly inside, joined, without entities and without blanks at the ends.
    pub fn text_inside(&self) -> String {
        let mut joined = String::new();
        for child in self.children().filter(|child| !child.is_element()) {
            joined.push_str(&child.own_text());
        }
        let trimmed = joined.trim();
        if trimmed.len() == joined.len() { joined } else { trimmed.to_owned() }
    }
}

const OUTSIDE: &str = "text stands outside of all elements";
const CDATA: &str = "<![CDATA[";
const CDATA_END: &str = "]]>";

/// The name of the outermost element of a text that may be cut off, without its prefix; empty if there is none.
pub(super) fn root_name(text: &str) -> String {
    let mut reader = Reader::from_str(text.trim_start_matches('\u{feff}'));
    loop {
        match reader.read_event() {
            Ok(Event::Start(tag) | Event::Empty(tag)) => return tag.local_name().as_ref().to_owned(),
            Ok(Event::Eof) | Err(_) => return String::new(),
            Ok(_) => {}
        }
    }
}

/// Name and value of every attribute of a tag, as written; stops where the tag is damaged.
fn attributes_of(tag: &str) -> impl Iterator<Item = (&str, &str)> {
    let mut found = Attributes::new(tag, name_length(tag));
    // That every name stands once is not asked for: the first of a name counts.
    found.with_checks(false);
    found.map_while(Result::ok).filter_map(|attribute| match attribute.value {
        Cow::Borrowed(value) => Some((attribute.key.0, value)),
        Cow::Owned(_) => None,
    })
}

fn name_length(tag: &str) -> usize {
    tag.find(|c: char| c.is_ascii_whitespace()).unwrap_or(tag.len())
}

fn said(error: &Error) -> String {
    match error {
        Error::Syntax(error) => error.to_string(),
        Error::IllFormed(error) => error.to_string(),
        other => other.to_string(),
    }
}

/// The line of a place in a text, from 1.
fn line_of(text: &str, at: usize) -> usize {
    1 + text.get(..at).unwrap_or(text).bytes().filter(|byte| *byte == b'\n').count()
}

/// A text with the five entities of XML and numbered signs replaced; others stay as they are.
fn without_entities(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    let mut rest = text;
    while let Some(at) = rest.find('&') {
        out.push_str(rest.get(..at).unwrap_or_default());
        rest = rest.get(at + 1..).unwrap_or_default();
        let entity = rest.split_once(';').filter(|(name, _)| name.len() <= 10);
        let known = |name: &str| -> Option<Cow<'_, str>> {
            let sign = || BytesRef::new(name).resolve_char_ref().ok().flatten();
            resolve_predefined_entity(name).map(Cow::Borrowed).or_else(|| Some(Cow::Owned(sign()?.to_string())))
        };
        let sign = entity.and_then(|(name, _)| known(name));
        match (sign, entity) {
            (Some(sign), Some((_, after))) => {
                out.push_str(&sign);
                rest = after;
            }
            _ => out.push('&'),
        }
    }
    out.push_str(rest);
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn elements_attributes_and_texts() {
        let text = "<?xml version='1.0'?><!-- <x> --><p:a xmlns:p=\"u\" p:id='1' b = \"2 &lt; &#51;\"><b/>one &amp; <c>two</c><![CDATA[<3> &amp;]]></p:a>";
        let document = Document::parse(text, Blanks::Dropped).unwrap();
        let root = document.root_element();
        assert_eq!((root.tag_name().name(), root.attribute("b"), root.attribute("id")), ("a", Some("2 < 3"), None));
        let names: Vec<_> = root.attributes().map(|attribute| (attribute.name(), attribute.value())).collect();
        assert_eq!(names, [("id", "1"), ("b", "2 < 3")]);
        let inside: Vec<_> = root.children().filter(Node::is_element).map(|node| node.tag_name().name()).collect();
        assert_eq!(inside, ["b", "c"]);
        assert_eq!(root.text_inside(), "one & <3> &amp;");
        let c = root.descendants().find(|node| node.tag_name().name() == "c").unwrap();
        assert_eq!((c.text_inside().as_str(), c.parent_element() == Some(root), c.ancestors().count()), ("two", true, 2));
        assert_eq!(document.descendants().count(), 6);
    }

    #[test]
    fn what_is_no_document() {
        for (text, word, line) in [
            ("", "no element", 1),
            ("<a>\n<b></a>", "`</b>`", 2),
            ("<a>", "before its elements are closed", 1),
            ("<a/></a>", "`</a>`", 1),
            ("<a/>\n<b/>", "a second element", 2),
            ("<a><b", "tag not closed", 1),
            ("<a><!-- ", "comment not closed", 1),
            ("<a><![CDATA[ ", "CDATA not closed", 1),
            ("words", "outside of all elements", 1),
            ("<a/>words", "outside of all elements", 1),
            ("<a>< b></a>", "a tag has no name", 1),
        ] {
            let fault = Document::parse(text, Blanks::Dropped).err();
            assert!(
                matches!(&fault, Some(Fault::Damaged(what, at)) if what.contains(word) && *at == line),
                "{text}: {fault:?}"
            );
        }
        assert_eq!(Document::parse("<!DOCTYPE a><a/>", Blanks::Dropped).err(), Some(Fault::Doctype));
        let full = format!("{}{}", "<a>".repeat(DEEPEST), "</a>".repeat(DEEPEST));
        assert!(Document::parse(&full, Blanks::Dropped).is_ok());
        assert_eq!(Document::parse(&format!("<a>{full}</a>"), Blanks::Dropped).err(), Some(Fault::TooDeep));
        // A stray sign, a torn attribute, an unknown entity.
        let document = Document::parse("<a b='x>y' c=\"1\" e>Smith & Sons &nbsp; &#xzz;</a>", Blanks::Dropped).unwrap();
        let root = document.root_element();
        assert_eq!((root.attribute("b"), root.attribute("c"), root.attribute("d")), (Some("x>y"), Some("1"), None));
        assert_eq!(root.text_inside(), "Smith & Sons &nbsp; &#xzz;");
    }
    #[test]
    fn blanks_between_words_and_names_of_the_outermost() {
        let text = "<p>\n <s>one</s> <s>two</s>a<!-- b --> <![CDATA[c]]> <![CDATA[d]]></p>";
        let words = |blanks| {
            let document = Document::parse(text, blanks).unwrap();
            document
                .descendants()
                .filter(|node| !node.is_element())
                .map(|node| node.own_text().into_owned())
                .collect::<String>()
        };
        assert_eq!((words(Blanks::Kept).as_str(), words(Blanks::Dropped).as_str()), ("\n one twoa c d", "onetwoa c d"));
        for (text, name) in
            [("\u{feff}<?xml version='1.0'?>\n<!-- <b/> --><x:a b='1'>", "a"), ("<a/>", "a"), ("<a", ""), ("words", "")]
        {
            assert_eq!(root_name(text), name, "{text}");
        }
    }
}
