//! Distances between places, and where a tour over them ends.

/// Where a tour ends.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ends {
    /// Where it starts: at place 0.
    AtStart,
    /// At the last place.
    AtLast,
}

/// Distances between places: 0 is the start, the last place is the end where the tour is open, all others are stops.
#[derive(Debug, Clone)]
pub(super) struct Table {
    places: usize,
    flat: Vec<f64>,
    ends: Ends,
}

impl Table {
    /// A table of `distance[a][b]`, symmetric. A place that cannot be reached lies farther away than any tour is long.
    pub(super) fn of(distance: &[Vec<f64>], ends: Ends) -> Self {
        let places = distance.len();
        let most = distance.iter().flatten().copied().filter(|d| d.is_finite()).fold(0.0, f64::max);
        let far = 2.0 * most * places as f64 + 1.0;
        let flat = distance.iter().flatten().map(|d| if d.is_finite() { *d } else { far }).collect();
        Self { places, flat, ends: if places < 2 { Ends::AtStart } else { ends } }
    }

    /// The table of the start, some of the stops in this order, and the end.
    pub(super) fn part(&self, stops: &[usize]) -> Self {
        let places = self.whole(stops);
        let flat = places.iter().flat_map(|a| places.iter().map(|b| self.between(*a, *b))).collect();
        Self { places: places.len(), flat, ends: self.ends }
    }

    /// The table with a bond between start and end that no tour gives up: the shortest closed tour over it is the shortest
    /// open one.
    pub(super) fn closed(&self) -> Self {
        let mut closed = Self { ends: Ends::AtStart, ..self.clone() };
        if self.ends == Ends::AtLast {
            let (end, bond) = (self.places - 1, -4.0 * self.most() - 1.0);
            closed.flat[end] = bond;
            closed.flat[end * self.places] = bond;
        }
        closed
    }

    /// Places, start and end included.
    pub(super) fn places(&self) -> usize {
        self.places
    }

    /// Stops: places 1 to this.
    pub(super) fn stops(&self) -> usize {
        match self.ends {
            Ends::AtStart => self.places.saturating_sub(1),
            Ends::AtLast => self.places - 2,
        }
    }

    /// The place where a tour ends.
    pub(super) fn end(&self) -> usize {
        match self.ends {
            Ends::AtStart => 0,
            Ends::AtLast => self.places - 1,
        }
    }

    pub(super) fn between(&self, a: usize, b: usize) -> f64 {
        self.flat[a * self.places + b]
    }

    /// Gains smaller than this are rounding.
    pub(super) fn rounding(&self) -> f64 {
        1e-10 * self.most()
    }

    /// Start, stops and, where the tour is open, the end.
    pub(super) fn whole(&self, stops: &[usize]) -> Vec<usize> {
        let end = (self.ends == Ends::AtLast).then(|| self.places - 1);
        std::iter::once(0).chain(stops.iter().copied()).chain(end).collect()
    }

    /// Length of the tour from the start past these stops to the end.
    pub(super) fn length(&self, stops: &[usize]) -> f64 {
        let mut here = 0;
        let mut length = 0.0;
        for next in stops.iter().copied().chain([self.end()]) {
            length += self.between(here, next);
            here = next;
        }
        length
    }

    fn most(&self) -> f64 {
        self.flat.iter().copied().fold(0.0, f64::max)
    }
}
