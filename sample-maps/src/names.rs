//! Invented names. They are built from common English place-name elements; none is known to us as a real farm.

/// The farming business.
pub const BUSINESS: &str = "Sallowby Farms";

/// Its three farms.
pub const FARMS: [&str; 3] = ["Sallowby Grange", "Quernfleet", "Ottergarth Lodge"];

/// The fields of each farm, in the order in which the land is divided.
pub const FIELDS: [&[&str]; 3] = [
    &[
        "Hobbin Ley",
        "Long Thistle",
        "Saltcart",
        "Pinder's Piece",
        "Bell Furrow",
        "Great Wend West",
        "Great Wend East",
        "Nine Lands",
        "Cuckpen",
        "Ravel Hill",
        "Mere Dole",
        "Ploughstay",
        "Dovecote Forty",
        "Tinkler",
        "Lark Rise Top",
        "Osier Holt",
    ],
    &[
        "Quern Bank",
        "Mill Leam",
        "Drovers' Slip",
        "Upper Fleet",
        "Nether Fleet",
        "Hanging Marl",
        "The Sixpenny",
        "Broom Tye",
        "Stack Garth",
        "Cold Elder",
        "Pightle End",
    ],
    &[
        "Otter Pasture",
        "Brickle",
        "Sedge Wong",
        "Lodge Thirty",
        "Warping",
        "Flaxen Dale",
        "Crow Tree",
        "Hither Stoop",
        "Yonder Stoop",
        "Candle Acre",
        "Gorse Butts",
        "Windle",
        "Maltman's",
    ],
];

/// The field that was split in 2023, as its two halves are called.
pub const SPLIT: [&str; 2] = ["Great Wend West", "Great Wend East"];

/// What it was called before.
pub const WHOLE: &str = "Great Wend";

/// The first harvest year of the two halves.
pub const SPLIT_YEAR: i32 = 2023;
