//! The same work done on many things, on every core there is. The only place of this crate that knows of threads: what
//! each thing gives does not depend on who did it, or when.
use std::num::NonZero;
use std::panic::resume_unwind;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::thread::{available_parallelism, scope};

/// Below so many things, threads cost more than they bring.
const FEW: usize = 4;

/// What the work gives for each thing, in their order. Things are taken one by one, so long ones may stand among short
/// ones, best at the front. Where there are no threads, as in a browser, it is done in turn.
pub fn each<T: Sync, R: Send>(things: &[T], work: impl Fn(&T) -> R + Sync) -> Vec<R> {
    let hands = available_parallelism().map_or(1, NonZero::get).min(things.len());
    if hands < 2 || things.len() < FEW {
        return things.iter().map(work).collect();
    }
    let next = AtomicUsize::new(0);
    let take = || {
        let mut done = Vec::new();
        loop {
            let i = next.fetch_add(1, Ordering::Relaxed);
            let Some(thing) = things.get(i) else { return done };
            done.push((i, work(thing)));
        }
    };
    let mut all: Vec<(usize, R)> = scope(|s| {
        let others: Vec<_> = (1..hands).map(|_| s.spawn(take)).collect();
        let mut all = take();
        for other in others {
            all.extend(other.join().unwrap_or_else(|panic| resume_unwind(panic)));
        }
        all
    });
    all.sort_unstable_by_key(|(i, _)| *i);
    all.into_iter().map(|(_, r)| r).collect()
}

#[cfg(test)]
mod tests {
    use super::each;

    #[test]
    fn each_thing_keeps_its_place() {
        let things: Vec<usize> = (0..1000).collect();
        assert!(each(&things, |n| n * n).into_iter().eq((0..1000).map(|n| n * n)));
        assert!(each(&things[..2], |n| n + 1) == [1, 2] && each(&things[..0], |n| n + 1).is_empty());
    }
    #[test]
    #[should_panic(expected = "seven")]
    fn a_panic_is_not_swallowed() {
        each(&[1, 2, 3, 4, 5, 6, 7, 8], |n| assert!(*n != 7, "seven"));
    }
}
