//! What to do about the weed. Consequences are worked out and shown with how sure they are; nothing is recommended.

pub mod outlook;
