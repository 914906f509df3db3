//! Which record each number of a sentence speaks of, settled for all of them together.
//!
//! Every pairing of a number with a record has a cost: how far off the words stand that name the quantity, and how badly
//! the values fit. The cheapest pairing of the sentence is settled first. A record already spoken for costs more for
//! another number of another value, so that "80 percent after 53 minutes, full after 93" finds two records.
use super::compare::Fit;

/// A record an amount may speak of.
#[derive(Clone, Copy, Debug)]
pub struct Pairing {
    /// Cost of the words.
    pub words: f64,
    /// How the values stand to each other.
    pub fit: Fit,
    /// Distance of the values, as a share of the record.
    pub off: f64,
    /// Identity of the record.
    pub record: u64,
}

/// What a value costs that does not fit.
const DIFFERS: f64 = 4.0;
/// What one costs that was rounded too far.
const ROUNDED: f64 = 3.0;
/// What it costs to speak of a record that another number of the sentence speaks of.
const TAKEN: f64 = 2.5;
/// The most pairings looked at for one amount, cheapest first.
pub const MOST: usize = 12;

impl Pairing {
    /// The whole cost.
    pub fn cost(&self) -> f64 {
        let value = match self.fit {
            Fit::Agrees => 0.05 * self.off.min(1.0),
            Fit::OverRounded => ROUNDED + self.off.min(1.0),
            Fit::Differs => DIFFERS + self.off.min(1.0),
        };
        self.words + value
    }
}

/// For each amount the place of its pairing; `None` where it has none. `says` is the value of each amount.
pub fn assign(pairings: &[Vec<Pairing>], says: &[f64]) -> Vec<Option<usize>> {
    let mut out: Vec<Option<usize>> = vec![None; pairings.len()];
    let mut open: Vec<usize> = (0..pairings.len()).filter(|&i| !pairings[i].is_empty()).collect();
    // Record and value said of it.
    let mut taken: Vec<(u64, f64)> = Vec::new();
    let cheapest = |i: usize, taken: &[(u64, f64)]| -> (f64, usize) {
        let price = |p: &Pairing| {
            let other = taken.iter().any(|(r, x)| *r == p.record && (x - says[i]).abs() > 0.01 * x.abs());
            p.cost() + if other { TAKEN } else { 0.0 }
        };
        let all = pairings[i].iter().enumerate().map(|(k, p)| (price(p), k));
        all.min_by(|a, b| a.0.total_cmp(&b.0)).unwrap_or((f64::INFINITY, 0))
    };
    let mut best: Vec<(f64, usize)> = (0..pairings.len()).map(|i| cheapest(i, &taken)).collect();
    while let Some(o) = (0..open.len()).min_by(|a, b| best[open[*a]].0.total_cmp(&best[open[*b]].0)) {
        let i = open.swap_remove(o);
        let record = pairings[i][best[i].1].record;
        taken.push((record, says[i]));
        out[i] = Some(best[i].1);
        // Only those who could have had it look again.
        for &k in open.iter().filter(|&&k| pairings[k].iter().any(|p| p.record == record)) {
            best[k] = cheapest(k, &taken);
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    fn pairing(words: f64, fit: Fit, record: u64) -> Pairing {
        Pairing { words, fit, off: if fit == Fit::Agrees { 0.0 } else { 0.5 }, record }
    }
    #[test]
    fn two_numbers_share_two_records() {
        // "80 percent after 53, full after 93": both words stand nearer to the first record for both numbers.
        let first = vec![pairing(0.1, Fit::Agrees, 0), pairing(1.5, Fit::Differs, 1)];
        let second = vec![pairing(0.5, Fit::Differs, 0), pairing(1.0, Fit::Agrees, 1)];
        assert_eq!(assign(&[first, second], &[53.0, 93.0]), [Some(0), Some(1)]);
    }
    #[test]
    fn a_wrong_number_takes_the_record_that_is_left() {
        let first = vec![pairing(0.1, Fit::Agrees, 0), pairing(0.6, Fit::Differs, 1)];
        let second = vec![pairing(0.4, Fit::Differs, 0), pairing(0.6, Fit::Differs, 1)];
        assert_eq!(assign(&[first, second], &[53.0, 83.0]), [Some(0), Some(1)]);
        assert_eq!(assign(&[vec![]], &[1.0]), [None]);
    }
    #[test]
    fn said_twice_in_other_words_is_one_record() {
        let same = || vec![pairing(0.2, Fit::Agrees, 3)];
        assert_eq!(assign(&[same(), same()], &[93.0, 93.0]), [Some(0), Some(0)]);
    }
}
