//! The day, by the clock of the machine.

use jiff::civil::Date;

/// Today, by the clock of the machine.
pub fn today() -> Option<Date> {
    // RFC 3339 begins with the day; nothing here depends on the hour.
    let now = jiff::Timestamp::now().to_string();
    now.get(..10).and_then(|day| day.parse().ok())
}
