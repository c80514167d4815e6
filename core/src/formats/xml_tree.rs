//! XML as a tree of places in its text.
//!
//! A general tree takes several hundred bytes for a point of a track that is written in fifty. Here an element or a text is four
//! numbers that say where it stands, and its attributes and texts are read when they are asked for, so that the tree of a file is
//! about as large as the file. Names are taken without their prefix, as readers want them whatever it is.
//!
//! Grammar: XML 1.0, without document types, which are refused: with them entities could make a small file endless (OWASP, "XML
//! external entity prevention"), and no format read here has need of one. Signs that the standard would have written as entities are
//! let pass, as files with "Smith & Sons" in them are common.

use std::borrow::Cow;
use std::collections::BTreeMap;

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
    Damaged(&'static str, usize),
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
    /// Values of attributes with entities in them, by where they begin.
    decoded: BTreeMap<u32, String>,
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
    pub fn parse(text: &'d str) -> Result<Self, Fault> {
        // Places are kept in four bytes.
        if text.len() >= u32::MAX as usize {
            return Err(Fault::Damaged("it is larger than 4 GB", 1));
        }
        let mut document = Self { text, list: Vec::new(), decoded: BTreeMap::new() };
        let mut open: Vec<u32> = Vec::new();
        let mut at = 0;
        loop {
            let rest = text.get(at..).unwrap_or_default();
            let damaged = |what, at: usize| Fault::Damaged(what, line_of(text, at));
            let next = rest.find('<');
            let words = rest.get(..next.unwrap_or(rest.len())).unwrap_or_default();
            if !words.trim().is_empty() {
                match open.last() {
                    Some(around) => document.push(at, at + words.len(), Some(*around)),
                    None if words.trim().trim_start_matches('\u{feff}').is_empty() => {}
                    None => return Err(damaged("text stands outside of all elements", at)),
                }
            }
            let Some(next) = next else { break };
            let start = at + next + 1;
            let rest = text.get(start..).unwrap_or_default();
            let ends = |mark: &str| rest.find(mark).ok_or_else(|| damaged("it ends within a mark", start));
            if rest.starts_with("!--") {
                at = start + ends("-->")? + 3;
            } else if rest.starts_with("![CDATA[") {
                let end = ends("]]>")?;
                let around = open.last().ok_or_else(|| damaged("text stands outside of all elements", start))?;
                document.push(start + 8, start + end, Some(*around));
                at = start + end + 3;
            } else if rest.starts_with('?') {
                at = start + ends("?>")? + 2;
            } else if rest.starts_with('!') {
                let doctype = rest.get(1..8).is_some_and(|word| word.eq_ignore_ascii_case("doctype"));
                return Err(if doctype { Fault::Doctype } else { damaged("a mark is not known", start) });
            } else if let Some(closing) = rest.strip_prefix('/') {
                let end = closing.find('>').ok_or_else(|| damaged("it ends within a tag", start))?;
                let name = closing.get(..end).unwrap_or_default().trim_end();
                let element = open.pop().filter(|index| document.whole_name(*index) == name);
                let element = element.ok_or_else(|| damaged("an element is closed that is not open", start))?;
                document.close(element);
                at = start + 1 + end + 1;
            } else {
                let end = end_of_tag(rest).ok_or_else(|| damaged("it ends within a tag", start))?;
                let tag = rest.get(..end).unwrap_or_default();
                if !tag.starts_with(|c: char| c.is_alphabetic() || matches!(c, '_' | ':')) {
                    return Err(damaged("a tag has no name", start));
                }
                if open.is_empty() && !document.list.is_empty() {
                    return Err(damaged("a second element stands beside the outermost", start));
                }
                let index = document.list.len() as u32;
                document.push(start, start + end, open.last().copied());
                document.decode(start, tag);
                if !tag.ends_with('/') {
                    open.push(index);
                    if open.len() > DEEPEST {
                        return Err(Fault::TooDeep);
                    }
                }
                at = start + end + 1;
            }
        }
        match (open.is_empty(), document.list.is_empty()) {
            (true, false) => Ok(document),
            (true, true) => Err(Fault::Damaged("it has no element", 1)),
            _ => Err(Fault::Damaged("it ends before its elements are closed", line_of(text, text.len()))),
        }
    }

    fn push(&mut self, from: usize, to: usize, around: Option<u32>) {
        let index = self.list.len() as u32;
        let around = around.unwrap_or(index);
        self.list.push(Record { from: from as u32, to: to as u32, around, after: index + 1 });
    }

    fn close(&mut self, index: u32) {
        let after = self.list.len() as u32;
        if let Some(record) = self.list.get_mut(index as usize) {
            record.after = after;
        }
    }

    /// Keeps the values of a tag that hold entities.
    fn decode(&mut self, start: usize, tag: &str) {
        if tag.contains('&') {
            for (_, value, at) in Attributes(tag, 0) {
                if value.contains('&') {
                    self.decoded.insert((start + at) as u32, without_entities(value));
                }
            }
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
        tag.split(|c: char| c.is_whitespace() || c == '/').next().unwrap_or_default()
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
        let document: &'a Document<'_> = self.document;
        let tag = if self.is_element() { document.slice(self.index) } else { "" };
        let from = document.record(self.index).from;
        Attributes(tag, 0).map(move |(name, value, at)| {
            let decoded = if value.contains('&') { document.decoded.get(&(from + at as u32)) } else { None };
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

/// Name, value and where the value begins of every attribute of a tag; stops where the tag is damaged.
struct Attributes<'t>(&'t str, usize);

impl<'t> Iterator for Attributes<'t> {
    type Item = (&'t str, &'t str, usize);

    fn next(&mut self) -> Option<Self::Item> {
        let Self(tag, at) = *self;
        // The name of the element or the attribute before ends at a blank.
        let rest = tag.get(at..)?;
        let blank = rest.find(char::is_whitespace)?;
        let start = at + blank + (rest.len() - blank - rest.get(blank..)?.trim_start().len());
        let rest = tag.get(start..)?;
        let equals = rest.find('=')?;
        let name = rest.get(..equals)?.trim_end();
        let after = rest.get(equals + 1..)?;
        let open = equals + 1 + (after.len() - after.trim_start().len());
        let quote = rest.get(open..)?.chars().next().filter(|c| matches!(c, '"' | '\''))?;
        let value = rest.get(open + 1..)?;
        let end = value.find(quote)?;
        // Blanks between attributes may be missing in damaged files: the quote stands for one.
        self.1 = start + open + 1 + end + 1;
        if tag
            .get(self.1..)
            .is_some_and(|rest| !rest.is_empty() && !rest.starts_with(|c: char| c.is_whitespace() || c == '/'))
        {
            self.1 = tag.len();
        }
        Some((name, value.get(..end)?, start + open + 1))
    }
}

/// Where a tag ends: at the first ">" outside quotation marks.
fn end_of_tag(tag: &str) -> Option<usize> {
    let mut quote = None;
    tag.bytes().position(|byte| {
        match (quote, byte) {
            (None, b'"' | b'\'') => quote = Some(byte),
            (Some(held), _) if held == byte => quote = None,
            _ => {}
        }
        quote.is_none() && byte == b'>'
    })
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
        let sign = entity.and_then(|(name, _)| match name {
            "amp" => Some('&'),
            "lt" => Some('<'),
            "gt" => Some('>'),
            "quot" => Some('"'),
            "apos" => Some('\''),
            name => {
                let number = name.strip_prefix('#')?;
                let code = match number.strip_prefix(['x', 'X']) {
                    Some(digits) => u32::from_str_radix(digits, 16).ok()?,
                    None => number.parse().ok()?,
                };
                char::from_u32(code)
            }
        });
        match (sign, entity) {
            (Some(sign), Some((_, after))) => {
                out.push(sign);
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
        let document = Document::parse(text).unwrap();
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
        for (text, wanted) in [
            ("", Fault::Damaged("it has no element", 1)),
            ("<a>\n<b></a>", Fault::Damaged("an element is closed that is not open", 2)),
            ("<a>", Fault::Damaged("it ends before its elements are closed", 1)),
            ("<a/><b/>", Fault::Damaged("a second element stands beside the outermost", 1)),
            ("<a><b", Fault::Damaged("it ends within a tag", 1)),
            ("<a><!-- ", Fault::Damaged("it ends within a mark", 1)),
            ("words", Fault::Damaged("text stands outside of all elements", 1)),
            ("<a>< b></a>", Fault::Damaged("a tag has no name", 1)),
            ("<!DOCTYPE a><a/>", Fault::Doctype),
        ] {
            assert_eq!(Document::parse(text).err(), Some(wanted), "{text}");
        }
        let full = format!("{}{}", "<a>".repeat(DEEPEST), "</a>".repeat(DEEPEST));
        assert!(Document::parse(&full).is_ok());
        assert_eq!(Document::parse(&format!("<a>{full}</a>")).err(), Some(Fault::TooDeep));
        // A stray sign, a torn attribute, an unknown entity.
        let document = Document::parse("<a b='x>y' c=\"1\"d='2' e>Smith & Sons &nbsp; &#xzz;</a>").unwrap();
        let root = document.root_element();
        assert_eq!((root.attribute("b"), root.attribute("c"), root.attribute("d")), (Some("x>y"), Some("1"), None));
        assert_eq!(root.text_inside(), "Smith & Sons &nbsp; &#xzz;");
    }
}
