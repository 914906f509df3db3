//! A few thousand rows in columns, and the plan that says which column goes where.
use super::mapping::{Mapping, Role};
use super::words::unit_of_code;

/// Rows in a full batch.
pub(crate) const ROWS: usize = 4096;

/// What becomes of a field.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Use {
    /// The instant, the date, or the elapsed time.
    Time,
    /// The clock of a date in another column.
    Clock,
    /// A number for this slot; times the factor it is in W, W·h, V, A.
    Number { slot: usize, factor: f64 },
    /// The device the row is from.
    Device,
    /// The unit of the number in this slot.
    UnitOf(usize),
    /// Not read.
    Skip,
}

/// Where everything goes.
#[derive(Clone, Debug)]
pub(crate) struct Plan {
    pub(crate) uses: Vec<Use>,
    /// Column, role of each slot.
    pub(crate) slots: Vec<(usize, Role)>,
    /// Seconds of one unit of a numeric elapsed time.
    pub(crate) time_unit: f64,
}

impl Plan {
    pub(crate) fn of(mapping: &Mapping) -> Plan {
        let mut plan = Plan { uses: Vec::new(), slots: Vec::new(), time_unit: 1.0 };
        for (c, column) in mapping.columns.iter().enumerate() {
            let unit = column.unit.as_deref().and_then(unit_of_code);
            let factor = unit.map_or(1.0, |u| u.factor);
            plan.uses.push(match column.role {
                Role::Time | Role::Date => Use::Time,
                Role::Clock if mapping.find(Role::Date).is_some() => Use::Clock,
                Role::Clock => Use::Time,
                Role::Elapsed => {
                    plan.time_unit = unit.filter(|u| u.role == Role::Elapsed).map_or(1.0, |u| u.factor);
                    Use::Time
                }
                Role::Device => Use::Device,
                Role::UnitOfPrevious => match plan.uses.last() {
                    Some(Use::Number { slot, .. }) => Use::UnitOf(*slot),
                    _ => Use::Skip,
                },
                Role::Other => Use::Skip,
                role => {
                    plan.slots.push((c, role));
                    Use::Number { slot: plan.slots.len() - 1, factor }
                }
            });
        }
        plan
    }

    /// The first slot with this role.
    pub(crate) fn slot(&self, role: Role) -> Option<usize> {
        self.slots.iter().position(|s| s.1 == role)
    }
}

/// Rows in columns. A missing number is NaN.
#[derive(Default)]
pub(crate) struct Batch {
    pub(crate) line: Vec<u32>,
    /// Microseconds.
    pub(crate) t: Vec<i64>,
    pub(crate) slots: Vec<Vec<f64>>,
}

impl Batch {
    pub(crate) fn new(slots: usize) -> Batch {
        Batch {
            line: Vec::with_capacity(ROWS),
            t: Vec::with_capacity(ROWS),
            slots: (0..slots).map(|_| Vec::with_capacity(ROWS)).collect(),
        }
    }

    pub(crate) fn len(&self) -> usize {
        self.t.len()
    }

    pub(crate) fn is_full(&self) -> bool {
        self.t.len() >= ROWS
    }

    pub(crate) fn push(&mut self, line: u32, t: i64, values: &[f64]) {
        self.line.push(line);
        self.t.push(t);
        for (slot, value) in self.slots.iter_mut().zip(values) {
            slot.push(*value);
        }
    }

    /// Takes the rows behind the first `rows` away.
    pub(crate) fn truncate(&mut self, rows: usize) {
        self.line.truncate(rows);
        self.t.truncate(rows);
        self.slots.iter_mut().for_each(|slot| slot.truncate(rows));
    }

    pub(crate) fn clear(&mut self) {
        self.line.clear();
        self.t.clear();
        self.slots.iter_mut().for_each(Vec::clear);
    }
}
