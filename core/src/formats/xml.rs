//! What the readers of XML files share: the document, names without prefixes, and lists of numbers.
//!
//! A document type declaration is refused, since with it entities could make a small file endless (OWASP, "XML
//! external entity prevention"); no format read here has need of one.

use std::borrow::Cow;

use geo::Coord;

use crate::formats::code_page;
pub(super) use crate::formats::xml_tree::{Blanks, DEEPEST, Document, Fault, Node, root_name};
use crate::problem::Problems;

/// The letters of a file: by the encoding that its first line names, otherwise as any text file.
pub(super) fn text_of(bytes: &[u8]) -> Cow<'_, str> {
    let head = String::from_utf8_lossy(bytes.get(..bytes.len().min(200)).unwrap_or_default()).into_owned();
    let declared = head.strip_prefix("<?xml").and_then(|rest| rest.split("?>").next()).and_then(|declaration| {
        let value = declaration.split("encoding").nth(1)?.trim_start().strip_prefix('=')?.trim_start();
        let quote = value.chars().next().filter(|c| matches!(c, '"' | '\''))?;
        value.get(1..)?.split(quote).next()
    });
    match declared.and_then(code_page::of_name) {
        // A declaration that can be read letter by letter is not written in UTF-16, whatever it says: texts that a program held in
        // its memory are often written out as UTF-8 with the old declaration in front.
        Some(page) if page != code_page::UTF_8 && !code_page::is_wide(page) => Cow::Owned(page.decode(bytes)),
        _ => code_page::text_of(bytes),
    }
}

/// The document of a text, without blanks between its elements; none and an error if it is none.
pub(super) fn document<'a>(place: &str, text: &'a str, problems: &mut Problems) -> Option<Document<'a>> {
    document_with(place, text, Blanks::Dropped, problems)
}

/// As [`document`], with or without such blanks.
pub(super) fn document_with<'a>(
    place: &str,
    text: &'a str,
    blanks: Blanks,
    problems: &mut Problems,
) -> Option<Document<'a>> {
    let again = "The file is cut off or damaged: copy it again from where it came from.";
    let (what, hint) = match Document::parse(text, blanks) {
        Ok(document) => return Some(document),
        Err(Fault::TooDeep) => {
            let what = format!("elements lie within each other more than {DEEPEST} deep.");
            (what, "The file is damaged: export it again.")
        }
        Err(Fault::Doctype) => {
            let what =
                "it declares a document type (DOCTYPE), by which a file could make others be read or grow without end.";
            (what.to_owned(), "Take the DOCTYPE out, or export the file again.")
        }
        Err(Fault::Damaged(why, line)) => (format!("it cannot be read as XML (line {line}: {why})."), again),
    };
    problems.error(place, what, hint);
    None
}

/// The elements inside an element.
pub(super) fn elements<'a, 'd>(node: Node<'a, 'd>) -> impl Iterator<Item = Node<'a, 'd>> {
    node.children().filter(Node::is_element)
}

/// The first element inside of a name, whatever its prefix.
pub(super) fn child<'a, 'd>(node: Node<'a, 'd>, name: &str) -> Option<Node<'a, 'd>> {
    elements(node).find(|child| child.tag_name().name() == name)
}

/// The text inside, without blanks at its ends; empty if there is none.
pub(super) fn text(node: Node<'_, '_>) -> String {
    node.text_inside()
}

/// The text of the first element inside of a name.
pub(super) fn child_text(node: Node<'_, '_>, name: &str) -> Option<String> {
    child(node, name).map(text).filter(|text| !text.is_empty())
}

/// Positions of "x,y[,z] x,y[,z]" (KML, GML 2); none if any is damaged.
pub(super) fn tuples(text: &str, within: char, between: char) -> Option<Vec<Coord<f64>>> {
    strict_tuples(text, within, between).or_else(|| {
        // Some write blanks after the commas as well.
        let parts: Vec<&str> = text.split(within).map(str::trim).collect();
        strict_tuples(&parts.join(&within.to_string()), within, between)
    })
}

fn strict_tuples(text: &str, within: char, between: char) -> Option<Vec<Coord<f64>>> {
    let tuples: Vec<&str> = if between.is_whitespace() {
        text.split_whitespace().collect()
    } else {
        text.split(between).map(str::trim).filter(|tuple| !tuple.is_empty()).collect()
    };
    let mut list = Vec::with_capacity(tuples.len());
    for tuple in tuples {
        let mut numbers = tuple.split(within).map(|number| number.trim().parse::<f64>().ok());
        list.push(Coord { x: numbers.next()??, y: numbers.next()?? });
    }
    Some(list)
}

/// Positions of "x y [z] x y [z]" (GML 3), `dimensions` numbers each; none if any is damaged or one is not whole.
pub(super) fn triples(text: &str, dimensions: usize) -> Option<Vec<Coord<f64>>> {
    let numbers: Vec<f64> = text.split_whitespace().map(|number| number.parse().ok()).collect::<Option<_>>()?;
    if !numbers.len().is_multiple_of(dimensions) {
        return None;
    }
    numbers.chunks_exact(dimensions).map(|at| Some(Coord { x: *at.first()?, y: *at.get(1)? })).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn letters_by_declaration() {
        assert!(text_of(b"<?xml version='1.0' encoding='ISO-8859-1'?><a>H\xf8j</a>").contains("Høj"));
        assert!(text_of(b"<?xml version=\"1.0\" encoding=\"ISO-8859-1\"?><a>H\xf8j</a>").contains("Høj"));
        assert!(text_of("<a>Høj</a>".as_bytes()).contains("Høj"));
        assert!(text_of("<?xml version='1.0' encoding='UTF-16'?><a>Høj</a>".as_bytes()).contains("Høj"));
        let wide: Vec<u8> =
            "\u{feff}<?xml version='1.0' encoding='utf-16'?><a>Høj</a>".encode_utf16().flat_map(u16::to_be_bytes).collect();
        assert!(text_of(&wide).contains("Høj"));
    }

    #[test]
    fn entities_are_refused_and_depth_is_no_danger() {
        let mut problems = Problems::new();
        let bomb = "<!DOCTYPE a [<!ENTITY b \"&c;&c;\"><!ENTITY c \"x\">]><a>&b;</a>";
        assert!(document("a.kml", bomb, &mut problems).is_none() && problems.list[0].what.contains("DOCTYPE"));
        let deep = "<a>".repeat(200_000);
        assert!(document("a.kml", &deep, &mut problems).is_none());
        assert!(problems.list[1].what.contains("256 deep"), "{}", problems.list[1].what);
        // As deep as allowed, with all that looks like elements and is none.
        let inner = "<!-- <a><a> --><![CDATA[<a><a>]]><b at='>' of=\"<\"/>".repeat(300);
        let full = format!("{}{inner}{}", "<a>".repeat(DEEPEST), "</a>".repeat(DEEPEST));
        assert!(Document::parse(&full, Blanks::Dropped).is_ok());
    }

    #[test]
    fn lists_of_numbers() {
        let wanted = vec![Coord { x: 1.0, y: 2.0 }, Coord { x: 3.5, y: -4.0 }];
        assert_eq!(tuples(" 1,2,0\n3.5,-4 ", ',', ' '), Some(wanted.clone()));
        assert_eq!(triples("1 2 0 3.5 -4 0", 3), Some(wanted.clone()));
        assert_eq!(tuples("1, 2, 0 3.5, -4, 0", ',', ' '), Some(wanted));
        assert_eq!((triples("1 2 3", 2), tuples("1", ',', ' '), tuples("1,x", ',', ' ')), (None, None, None));
    }
}
