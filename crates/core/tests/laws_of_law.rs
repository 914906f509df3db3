//! What must hold for any rows: scaling, order, splitting, honest intervals, and never a panic.
use proptest::prelude::*;
use rand::{RngExt, SeedableRng};
use rand_distr::{Distribution, StandardNormal};
use trueplate_core::law::{Law, Load, Row, Rules, Segment, fit};
use trueplate_core::stats::coverage::{Part, Shape, Spread};

/// Runtime of a station with these coefficients at a steady load, h.
fn hours(theta: (f64, f64, f64), watts: f64) -> f64 {
    1.0 / (theta.0 + theta.1 * watts + theta.2 * watts * watts)
}

fn rows(theta: (f64, f64, f64), errors: &[f64]) -> Vec<Row> {
    [25.0, 150.0, 500.0, 900.0]
        .iter()
        .zip(errors)
        .map(|(w, e)| Row::steady(format!("{w} W"), *w, hours(theta, *w) * (1.0 + e), 0.005))
        .collect()
}

fn fitted(rows: &[Row]) -> Law {
    fit(rows, Rules::default()).expect("rows are usable")
}

fn close(x: f64, y: f64, relative: f64) -> bool {
    (x - y).abs() <= relative * x.abs().max(y.abs())
}

prop_compose! {
    fn station()(store in 200.0..5000.0f64, p0 in 3.0..40.0f64, p1 in 0.02..0.1f64, p2 in 1e-5..1e-4f64)
        -> (f64, f64, f64) { (p0 / store, (1.0 + p1) / store, p2 / store) }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    /// A store k times as large: all hours, Wh and W²·h times k, every coefficient divided by k.
    #[test]
    fn scaling_all_hours(theta in station(), e in prop::array::uniform4(-0.003..0.003f64), k in 0.1..10.0f64) {
        let small = rows(theta, &e);
        let large: Vec<Row> = small.iter()
            .map(|r| Row::sums(&*r.label, k * r.hours, k * r.wh, k * r.w2h, r.u_rel)).collect();
        let (small, large) = (fitted(&small), fitted(&large));
        prop_assert!(close(small.b, k * large.b, 1e-7));
        prop_assert!(close(small.drain(100.0), k * large.drain(100.0), 1e-7));
        prop_assert!((small.chi2 - large.chi2).abs() < 1e-6);
    }

    /// The order of the rows does not matter.
    #[test]
    fn permuting_rows(theta in station(), e in prop::array::uniform4(-0.003..0.003f64), turn in 1..4usize) {
        let first = rows(theta, &e);
        let mut second = first.clone();
        second.rotate_left(turn);
        let (first, second) = (fitted(&first), fitted(&second));
        for w in [10.0, 60.0, 500.0] {
            prop_assert!(close(first.drain(w), second.drain(w), 1e-9));
        }
        prop_assert!(close(first.covariance[0][0], second.covariance[0][0], 1e-9));
    }

    /// A load cut into pieces is the same load.
    #[test]
    fn splitting(theta in station(), cut in 0.05..0.95f64) {
        let exact = rows(theta, &[0.0; 4]);
        let mut split = exact.clone();
        let (watts, whole) = (500.0, exact[2].hours);
        let pieces = [cut, 1.0 - cut].map(|share| Segment { watts, hours: share * whole });
        split[2] = Row::segments("split", &pieces, 0.005);
        prop_assert!(close(fitted(&exact).drain(60.0), fitted(&split).drain(60.0), 1e-9));
    }

    /// A test repeated tells as much as the same test known √2 better.
    #[test]
    fn repeating(theta in station(), e in prop::array::uniform4(-0.003..0.003f64)) {
        let once: Vec<Row> = rows(theta, &e);
        let twice: Vec<Row> = once.iter().chain(&once).cloned().collect();
        let better: Vec<Row> = once.iter().map(|r| Row { u_rel: r.u_rel / 2f64.sqrt(), ..r.clone() }).collect();
        let (twice, better) = (fitted(&twice), fitted(&better));
        prop_assert!(close(twice.drain(60.0), better.drain(60.0), 1e-8));
        prop_assert!(close(twice.covariance[0][0], better.covariance[0][0], 1e-8));
    }

    /// No numbers whatever make it panic or answer with something that is not a number.
    #[test]
    fn never_a_panic(raw in prop::collection::vec(
        (-1e3..1e5f64, prop_oneof![Just(0.0), -10.0..1e6f64], prop_oneof![Just(0.0), -1.0..1e9f64, Just(f64::NAN)],
         prop_oneof![Just(0.01), 1e-9..10.0f64]), 0..6),
        watts in prop_oneof![Just(0.0), -5.0..1e5f64])
    {
        // Half of the rows are made possible by lifting W²·h to at least W²/H.
        let rows: Vec<Row> = raw.iter().enumerate().map(|(i, (h, w, s, u))| {
            let s = if i % 2 == 0 { s.max(1.1 * w * w / h) } else { *s };
            Row::sums(format!("row {i}"), *h, *w, s, *u)
        }).collect();
        if let Ok(law) = fit(&rows, Rules::default()) {
            match law.answer(Load::steady(watts)) {
                Ok(answer) => prop_assert!(answer.runtime_h.value > 0.0 && answer.runtime_h.u.is_finite()),
                Err(refusal) => prop_assert!(!refusal.why.is_empty() && !refusal.missing.text().is_empty()),
            }
            let _ = (law.idle(), law.best_load(), law.p_value());
            let _ = law.run(&[Segment { watts: 100.0, hours: 1.0 }, Segment { watts: 0.0, hours: 2.0 }], true);
        }
    }

    /// The distribution rises, is symmetric, and its half-width holds what it says, for any mix of parts.
    #[test]
    fn coverage_is_a_distribution(raw in prop::collection::vec((0.0..1.0f64, 0..4usize, 1.0..30.0f64), 0..6),
        x in 0.0..3.0f64, p in 0.5..0.995f64)
    {
        let shapes = [Shape::Normal, Shape::Rectangular, Shape::Triangular, Shape::Arcsine];
        let parts: Vec<Part> = raw.iter()
            .map(|(u, s, dof)| Part { u: *u, shape: shapes[*s], dof: *dof }).collect();
        let sum = Spread::of(&parts);
        prop_assert!(sum.cdf(x) <= sum.cdf(x + 0.1) + 1e-9);
        prop_assert!((sum.cdf(x) + sum.cdf(-x) - 1.0).abs() < 1e-9 || sum.u() == 0.0);
        let half = sum.half_width(p);
        prop_assert!(half >= 0.0 && half.is_finite());
        prop_assert!(sum.u() == 0.0 || (sum.cdf(half) - sum.cdf(-half) - p).abs() < 1e-4, "{parts:?}");
    }
}

/// Honest intervals: over simulated benches 93–97 % of the 95 % intervals hold the truth, the meter's gain included.
#[test]
fn intervals_cover_the_truth() {
    let mut rng = rand_pcg::Pcg64::seed_from_u64(20260630);
    let truth = (0.012, 0.00104, 8e-8);
    let loads = [10.0, 60.0, 300.0, 800.0];
    let (mut inside, mut asked) = ([0usize; 4], 0usize);
    for _ in 0..2000 {
        let mut normal = || -> f64 { StandardNormal.sample(&mut rng) };
        let gain = 0.005 * normal();
        let rows: Vec<Row> = [(0.0, 12.0), (150.0, 0.0), (500.0, 0.0), (900.0, 0.0)]
            .map(|(watts, idle_h)| {
                let watts = if idle_h > 0.0 { 500.0 } else { watts };
                let store = 1.0 + 0.005 * normal();
                let left = (store - truth.0 * idle_h) * hours(truth, watts);
                let read = watts * (1.0 + gain);
                Row::segments(
                    "r",
                    &[Segment { watts: 0.0, hours: idle_h }, Segment { watts: read, hours: left }],
                    0.005,
                )
            })
            .to_vec();
        let law = fitted(&rows);
        asked += 1;
        for (k, w) in loads.iter().enumerate() {
            let Ok(answer) = law.answer(Load::steady(*w)) else { continue };
            let t = answer.runtime_h;
            inside[k] += usize::from((t.value - hours(truth, *w)).abs() <= 1.96 * t.u_with_gain(0.005));
        }
    }
    for (k, count) in inside.iter().enumerate() {
        let share = *count as f64 / asked as f64;
        assert!((0.93..=0.97).contains(&share), "{} W: {share}", loads[k]);
    }
    // The seeded stream is used, not a constant.
    assert!(rng.random::<u64>() != 0);
}

/// A sampled check of the convolution, independent of it: 400,000 sums of rectangle, arcsine, triangle and t₅.
#[test]
fn coverage_agrees_with_trials() {
    let mut rng = rand_pcg::Pcg64::seed_from_u64(106);
    let parts = [
        Part::within(2.0, Shape::Rectangular),
        Part::within(1.5, Shape::Arcsine),
        Part::within(1.0, Shape::Triangular),
        Part::scatter(0.4, 5.0),
    ];
    let half = Spread::of(&parts).half_width_95();
    let t5 = rand_distr::StudentT::new(5.0).expect("a valid t distribution");
    let trials = 400_000;
    let mut inside = 0;
    for _ in 0..trials {
        let mut flat = || 2.0 * rng.random::<f64>() - 1.0;
        let bounded = 2.0 * flat() + 1.5 * (std::f64::consts::PI * flat()).sin() + 0.5 * (flat() + flat());
        let sum: f64 = bounded + 0.4 * t5.sample(&mut rng);
        inside += usize::from(sum.abs() <= half);
    }
    // Four standard errors: 4·√(0.95·0.05/400,000) = 0.0014.
    assert!((f64::from(inside as u32) / f64::from(trials) - 0.95).abs() < 0.0014, "{inside} of {trials}");
}
