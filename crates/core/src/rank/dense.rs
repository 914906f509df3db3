//! The values of one column with their influences numbered, so that hundreds can be compared pair by pair.
use crate::stats::coverage::Shape;
use crate::stats::tail::t_factor;
use crate::uncertain::{Influence, Value};
use std::collections::BTreeMap;

/// No sum of the known shapes holds 95 % within fewer standard uncertainties: an arcsine alone needs √2·sin(0.95·π/2) = 1.410.
const LEAST_FACTOR: f64 = 1.40;

/// A column of values; places are those of the list it was made from.
pub(crate) struct Dense<'a> {
    values: &'a [&'a Value],
    pub(super) rows: Vec<Row>,
    /// The shapes of the influences that several values share, or that are not normal.
    pub(super) shapes: Vec<Shape>,
}

/// One value: what is its own and normal at one stroke, everything else influence by influence.
pub(super) struct Row {
    pub(super) x: f64,
    /// Root of the summed squares of the normal parts that no other value has.
    pub(super) own: f64,
    /// Root of the summed squares of all parts that no other value has, of whatever shape.
    pub(super) alone: f64,
    /// Root of the summed squares of all parts.
    whole: f64,
    /// (place in `shapes`, signed standard uncertainty), by place.
    pub(super) parts: Vec<(usize, f64)>,
    /// No sum with this value in it needs more than so many standard uncertainties for 95 %.
    most: f64,
}

impl<'a> Dense<'a> {
    pub(crate) fn of(values: &'a [&'a Value]) -> Self {
        let mut seen: BTreeMap<&Influence, (u32, Shape)> = BTreeMap::new();
        for (influence, part) in values.iter().flat_map(|v| &v.parts) {
            seen.entry(influence).or_insert((0, part.shape)).0 += 1;
        }
        let kept = seen.iter().filter(|(_, (times, shape))| *times > 1 || *shape != Shape::Normal);
        let kept: Vec<(&Influence, Shape)> = kept.map(|(i, (_, shape))| (*i, *shape)).collect();
        let place: BTreeMap<&Influence, usize> = kept.iter().enumerate().map(|(k, (i, _))| (*i, k)).collect();
        let shared: Vec<bool> = kept.iter().map(|(i, _)| seen[i].0 > 1).collect();
        // Most values have the same few degrees of freedom, and a quantile of t costs microseconds.
        let mut factors: Vec<(f64, f64)> = Vec::new();
        let mut factor = |dof: f64| {
            let known = factors.iter().find(|(of, _)| *of == dof).map(|(_, t)| *t);
            known.unwrap_or_else(|| {
                factors.push((dof, t_factor(0.95, dof)));
                factors[factors.len() - 1].1
            })
        };
        let mut row = |value: &&Value| {
            let (mut own, mut parts, mut least_dof) = (0f64, Vec::new(), f64::INFINITY);
            let (mut alone, mut whole) = (0.0, 0.0);
            for (influence, part) in &value.parts {
                let variance = part.signed * part.signed;
                least_dof = least_dof.min(part.dof);
                whole += variance;
                match place.get(influence) {
                    Some(&k) => {
                        parts.push((k, part.signed));
                        alone += if shared[k] { 0.0 } else { variance };
                    }
                    None => {
                        own = own.hypot(part.signed);
                        alone += variance;
                    }
                }
            }
            let (alone, whole) = (alone.sqrt(), whole.sqrt());
            // The effective degrees of freedom of a sum are never fewer than those of its worst part (JCGM 100:2008, G.4.1).
            Row { x: value.x, own, alone, whole, parts, most: 1.02 * factor(least_dof) }
        };
        Dense {
            values,
            rows: values.iter().map(&mut row).collect(),
            shapes: kept.iter().map(|k| k.1).collect(),
        }
    }

    /// The values each one cannot be told from, in no order.
    pub(super) fn ties(&self) -> Vec<Vec<usize>> {
        let mut order: Vec<usize> = (0..self.rows.len()).collect();
        order.sort_by(|&a, &b| self.rows[a].x.total_cmp(&self.rows[b].x));
        let widest = |of: fn(&Row) -> f64| self.rows.iter().map(of).fold(0.0, f64::max);
        let (most, whole) = (widest(|r| r.most), widest(|r| r.whole));
        let mut ties = vec![Vec::new(); self.rows.len()];
        for (k, &i) in order.iter().enumerate() {
            let own = &self.rows[i];
            // A difference is never less certain than both doubts added up, so beyond this nothing can be tied.
            let far = 1.001 * most * (own.whole + whole);
            for &j in order[k + 1..].iter().take_while(|&&j| self.rows[j].x - own.x <= far) {
                if self.tied(i, j) {
                    ties[i].push(j);
                    ties[j].push(i);
                }
            }
        }
        ties
    }

    /// Variance of the difference of two values, shared influences cancelling.
    pub(super) fn variance_of_difference(&self, i: usize, j: usize) -> f64 {
        u_of_difference(&self.rows[i], &self.rows[j]).powi(2)
    }

    /// True when zero lies in the 95 % interval of the difference, shared influences cancelling. The exact interval costs
    /// tens of microseconds; it is worked out only where its bounds leave the answer open.
    pub(crate) fn tied(&self, i: usize, j: usize) -> bool {
        let (a, b) = (&self.rows[i], &self.rows[j]);
        let d = (a.x - b.x).abs();
        let u = u_of_difference(a, b);
        if d <= LEAST_FACTOR * u {
            true
        } else if d > a.most.max(b.most) * u {
            false
        } else {
            super::tied(self.values[i], self.values[j])
        }
    }

    /// Some doubt is left in the difference when what both share has cancelled.
    pub(crate) fn doubted(&self, i: usize, j: usize) -> bool {
        u_of_difference(&self.rows[i], &self.rows[j]) > 0.0
    }
}

fn u_of_difference(a: &Row, b: &Row) -> f64 {
    let mut variance = a.own.powi(2) + b.own.powi(2);
    let (mut i, mut j) = (0, 0);
    while i < a.parts.len() || j < b.parts.len() {
        let next = |parts: &[(usize, f64)], k: usize| parts.get(k).map_or(usize::MAX, |p| p.0);
        let place = next(&a.parts, i).min(next(&b.parts, j));
        let mut signed = 0.0;
        if next(&a.parts, i) == place {
            signed += a.parts[i].1;
            i += 1;
        }
        if next(&b.parts, j) == place {
            signed -= b.parts[j].1;
            j += 1;
        }
        variance += signed * signed;
    }
    variance.sqrt()
}
