//! Maps as drawings: what is measured on them.

use roxmltree::{Document, Node};

/// Elements of a class.
pub fn classed<'a>(document: &'a Document<'a>, class: &str) -> Vec<Node<'a, 'a>> {
    document.descendants().filter(|node| node.attribute("class") == Some(class)).collect()
}

/// A number among an element's attributes.
pub fn figure(node: &Node<'_, '_>, name: &str) -> f64 {
    node.attribute(name).unwrap_or_else(|| panic!("{name} is missing")).parse().unwrap()
}

/// Legend rows: words of the class, fields, hectares.
pub fn legend(document: &Document<'_>) -> Vec<(String, usize, f64)> {
    let row = |node: &Node<'_, '_>| {
        let words = node.attribute("data-class").unwrap().to_owned();
        (words, figure(node, "data-fields") as usize, figure(node, "data-ha"))
    };
    classed(document, "legend-row").iter().map(row).collect()
}

/// The rings of a path of straight lines.
pub fn rings(path: &str) -> Vec<Vec<(f64, f64)>> {
    let point = |text: &str| {
        let (x, y) = text.split_once(' ').unwrap();
        (x.parse().unwrap(), y.parse().unwrap())
    };
    path.split('M')
        .filter(|ring| !ring.is_empty())
        .map(|ring| ring.trim_end_matches('Z').split('L').map(point).collect())
        .collect()
}

/// Area of a path by the shoelace formula, holes taken off.
pub fn area(path: &str) -> f64 {
    let of = |ring: &Vec<(f64, f64)>| {
        let next = ring.iter().cycle().skip(1);
        (ring.iter().zip(next).map(|(a, b)| a.0 * b.1 - a.1 * b.0).sum::<f64>() / 2.0).abs()
    };
    let rings = rings(path);
    of(&rings[0]) - rings[1..].iter().map(of).sum::<f64>()
}
