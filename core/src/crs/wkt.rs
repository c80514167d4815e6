//! Well-known text of coordinate systems as a tree, read just far enough to recognise a system.
//!
//! Grammar: OGC 01-009 (WKT 1) and OGC 18-010 (WKT 2): `KEYWORD["text", number, KEYWORD[...], ...]`, with either
//! square or round brackets.

/// A keyword with what stands in its brackets.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct Node {
    /// The keyword in capitals.
    pub keyword: String,
    /// Texts and numbers, in order, as written and without quotes.
    pub values: Vec<String>,
    /// Nodes inside, in order.
    pub nodes: Vec<Node>,
}

/// Deeper nesting than any coordinate system has is taken for damage.
const DEEPEST: usize = 24;

impl Node {
    /// The first text: the name.
    pub fn name(&self) -> &str {
        self.values.first().map_or("", String::as_str)
    }

    /// This node and all inside it.
    fn all(&self) -> Vec<&Self> {
        let mut list = vec![self];
        let mut next = 0;
        while let Some(node) = list.get(next).copied() {
            list.extend(&node.nodes);
            next += 1;
        }
        list
    }

    /// The number of the first parameter whose name holds one of the words, letter case ignored.
    pub fn parameter(&self, words: &[&str]) -> Option<f64> {
        let named = |node: &&Self| words.iter().any(|word| node.name().to_ascii_lowercase().contains(word));
        let nodes = self.all();
        let found = nodes.iter().copied().filter(|node| node.keyword == "PARAMETER").find(named)?;
        found.values.get(1).and_then(|value| value.parse().ok())
    }

    fn is_any(&self, keywords: &[&str]) -> bool {
        keywords.contains(&self.keyword.as_str())
    }
}

/// The tree of a text; none if it is empty or damaged.
pub(super) fn parse(text: &str) -> Option<Node> {
    let mut rest = text.trim_start_matches('\u{feff}').trim();
    let node = parse_node(&mut rest, 0)?;
    (!node.values.is_empty()).then_some(node)
}

fn parse_node(rest: &mut &str, depth: usize) -> Option<Node> {
    if depth > DEEPEST {
        return None;
    }
    let open = rest.find(['[', '('])?;
    let keyword = rest[..open].trim().to_ascii_uppercase();
    if keyword.is_empty() || !keyword.chars().all(|c| c.is_ascii_alphanumeric() || c == '_') {
        return None;
    }
    *rest = rest[open + 1..].trim_start();
    let mut node = Node { keyword, ..Node::default() };
    loop {
        match rest.chars().next()? {
            ']' | ')' => {
                *rest = rest[1..].trim_start();
                return Some(node);
            }
            ',' => *rest = rest[1..].trim_start(),
            '"' => {
                let end = rest[1..].find('"')? + 1;
                node.values.push(rest[1..end].to_owned());
                *rest = rest[end + 1..].trim_start();
            }
            _ => {
                let end = rest.find([',', '[', '(', ']', ')'])?;
                if rest[end..].starts_with(['[', '(']) {
                    node.nodes.push(parse_node(rest, depth + 1)?);
                } else {
                    node.values.push(rest[..end].trim().to_owned());
                    *rest = &rest[end..];
                }
            }
        }
    }
}

/// The EPSG code that the text gives to the whole system.
pub(super) fn epsg_code(root: &Node) -> Option<u32> {
    // A bound system names the real one inside.
    let system = if root.keyword == "BOUNDCRS" {
        root.nodes.iter().find(|node| node.keyword == "SOURCECRS").and_then(|node| node.nodes.first())?
    } else {
        root
    };
    let id =
        system.nodes.iter().find(|node| node.is_any(&["AUTHORITY", "ID"]) && node.name().eq_ignore_ascii_case("EPSG"))?;
    id.values.get(1)?.parse().ok()
}

/// Whether the horizontal part is the British National Grid: by code, by name, or by what defines it.
pub(super) fn is_british_grid(root: &Node) -> bool {
    root.all().into_iter().filter(|node| node.is_any(&["PROJCS", "PROJCRS", "PROJECTEDCRS"])).any(|system| {
        let name = system.name().to_ascii_lowercase().replace(['_', ' '], "");
        let named = ["britishnationalgrid", "osgb36/britishnationalgrid", "osgb1936/britishnationalgrid"];
        epsg_code(system) == Some(super::system::BRITISH_GRID) || named.contains(&name.as_str()) || has_grid_numbers(system)
    })
}

/// Files round the scale of the grid to five or six decimals; no other grid has its origin and its ellipsoid.
const ROUNDED_SCALE: f64 = 2e-6;

/// Airy 1830, transverse Mercator at 49 N 2 W, scale 0.9996012717, 400 km east, 100 km south (EPSG method 9807, code 19916).
fn has_grid_numbers(system: &Node) -> bool {
    let nodes = system.all();
    let number = |node: &Node| node.values.get(1).and_then(|value| value.parse::<f64>().ok());
    let parameter = |words: &[&str]| system.parameter(words);
    let near = |value: Option<f64>, wanted: f64, by: f64| value.is_some_and(|value| (value - wanted).abs() <= by);
    let mercator = nodes.iter().any(|node| {
        node.is_any(&["PROJECTION", "METHOD"])
            && node.name().to_ascii_lowercase().replace([' ', '_'], "").starts_with("transversemercator")
    });
    let airy = nodes
        .iter()
        .filter(|node| node.is_any(&["SPHEROID", "ELLIPSOID"]))
        .any(|node| near(number(node), 6_377_563.396, 0.01));
    // Only the system's own unit counts, not that of its degrees or parameters.
    let metres =
        system.nodes.iter().filter(|node| node.is_any(&["UNIT", "LENGTHUNIT"])).all(|node| near(number(node), 1.0, 1e-9));
    mercator
        && airy
        && metres
        && near(parameter(&["latitude"]), 49.0, 1e-9)
        && near(parameter(&["meridian", "longitude"]), -2.0, 1e-9)
        && near(parameter(&["scale"]), 0.999_601_271_7, ROUNDED_SCALE)
        && near(parameter(&["easting"]), 400_000.0, 1e-6)
        && near(parameter(&["northing"]), -100_000.0, 1e-6)
}

/// Whether it is plain longitude and latitude in degrees on WGS 84 from Greenwich.
pub(super) fn is_wgs84_degrees(root: &Node) -> bool {
    if !root.is_any(&["GEOGCS", "GEOGCRS", "GEODCRS", "GEOGRAPHICCRS"]) {
        return false;
    }
    let nodes = root.all();
    let datum = nodes.iter().any(|node| {
        let name = node.name().to_ascii_lowercase().replace([' ', '_'], "");
        node.is_any(&["DATUM", "ENSEMBLE"])
            && (name.contains("wgs1984") || name.contains("wgs84") || name.contains("worldgeodeticsystem1984"))
    });
    let plain = |keyword: &str, wanted: f64| {
        nodes.iter().filter(|node| node.keyword == keyword).all(|node| {
            node.values.get(1).and_then(|value| value.parse::<f64>().ok()).is_some_and(|value| (value - wanted).abs() < 1e-9)
        })
    };
    datum && plain("PRIMEM", 0.0) && plain("UNIT", 1f64.to_radians())
}
