//! The days that a harvest year's work hangs on: when seed is ripe, when samples must be posted, when results come.

use jiff::civil::Date;

/// A stretch of days, both ends included.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Days {
    /// First day.
    pub from: Date,
    /// Last day.
    pub to: Date,
}

impl Days {
    /// Whether a day lies in it.
    pub fn contains(&self, day: Date) -> bool {
        (self.from..=self.to).contains(&day)
    }

    /// How many days it is.
    pub fn length(&self) -> i32 {
        (self.to - self.from).get_days() + 1
    }

    /// The day in the middle, and half a day more if it is between two.
    pub fn middle(&self) -> (Date, f64) {
        let ahead = self.length() - 1;
        let day = self.from.checked_add(jiff::Span::new().days(ahead / 2)).unwrap_or(self.from);
        (day, f64::from(ahead % 2) / 2.0)
    }

    /// "14 to 18 July", "28 July to 2 August", "14 July".
    pub fn words(&self) -> String {
        let to = self.to.strftime("%-d %B");
        if self.from == self.to {
            to.to_string()
        } else if self.from.month() == self.to.month() {
            format!("{} to {to}", self.from.strftime("%-d"))
        } else {
            format!("{} to {to}", self.from.strftime("%-d %B"))
        }
    }
}

/// The calendar of black-grass (ALOMY) in a harvest year. An early or a late season moves the ripe days; the rest stays.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Calendar {
    /// First and last day that the season strip shows: June to November.
    pub shown: Days,
    /// Seed is ripe: second and third week of July (8 to 21 July), when most seed is mature and 10 to 20 % has shed (advice leaflet on
    /// herbicide-resistance testing of the British working group on weed resistance, June 2020, page 1).
    pub ripe: Days,
    /// Samples for dish tests arrive by then: early August (common practice, no source).
    pub post_by: Date,
    /// Results of dish tests, about the end of September (common practice, no source).
    pub petri_back: Date,
    /// Results of pot tests, about the end of October (common practice, no source).
    pub pot_back: Date,
}

/// The calendar of a harvest year. None for years outside 1 to 9999.
pub fn calendar(year: i32) -> Option<Calendar> {
    let year = i16::try_from(year).ok()?;
    let day = |month, day| Date::new(year, month, day).ok();
    Some(Calendar {
        shown: Days { from: day(6, 1)?, to: day(11, 30)? },
        ripe: Days { from: day(7, 8)?, to: day(7, 21)? },
        post_by: day(8, 7)?,
        petri_back: day(9, 30)?,
        pot_back: day(10, 31)?,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_window_is_the_second_and_third_week_of_july() {
        let known = calendar(2027).unwrap();
        assert_eq!(known.ripe.from.to_string(), "2027-07-08");
        assert_eq!((known.ripe.to - known.ripe.from).get_days(), 13);
        assert!(known.ripe.contains(known.ripe.to) && !known.ripe.contains(known.post_by));
        assert!(
            known.post_by < known.petri_back && known.petri_back < known.pot_back && known.shown.contains(known.pot_back)
        );
        assert!(calendar(123_456).is_none());
    }
}
