//! Cells of the comparison as they were written, taken over where all they say is as it was.
use crate::piece::Lane;
use std::sync::Arc;
use trueplate_core::report::Place;

/// The values of a column as they are shown, each with the index of its model in the report.
pub(crate) type Values = Vec<(usize, u64)>;

/// A cell of one station. It rests on the station, its address and the columns too; whoever keeps it sees to that.
pub(crate) struct Cell {
    pub lane: Lane,
    pub place: Option<Arc<Place>>,
    pub values: Arc<Values>,
    /// What a person reads.
    pub text: Arc<str>,
    /// What the script reads; nothing where it names other stations in the order they are shown.
    pub data: Option<Arc<str>>,
}

impl Cell {
    /// Whether a person reads the same at this place, in this lane.
    pub fn reads(&self, lane: Lane, place: Option<&Arc<Place>>) -> bool {
        let same = match (&self.place, place) {
            (Some(was), Some(is)) => Arc::ptr_eq(was, is),
            (was, is) => was.is_none() && is.is_none(),
        };
        same && self.lane == lane
    }

    /// What the script reads, among the very same values.
    pub fn data(&self, values: &Arc<Values>) -> Option<&Arc<str>> {
        self.data.as_ref().filter(|_| Arc::ptr_eq(&self.values, values))
    }
}

/// The cells of one station, in the order of the columns.
#[derive(Clone, Default)]
pub(crate) struct Cells {
    /// As they were, where they still may hold.
    pub before: Option<Arc<Vec<Cell>>>,
    /// As they are, once the page is made.
    pub now: std::sync::OnceLock<Arc<Vec<Cell>>>,
}
