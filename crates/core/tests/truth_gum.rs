//! Checks against JCGM 100:2008 (GUM), JCGM 101:2008, JCGM 106:2012 and exact binomial bounds.
//!
//! Numbers are the printed ones where the line says "printed"; else the same formula in numpy/scipy, 9 digits.
//! Tolerance: half a unit of the last digit given.
use trueplate_core::stats::binomial::{clopper_pearson, failure_upper_bound, lower_bound, wilson};
use trueplate_core::stats::coverage::{Part, Shape, Spread};
use trueplate_core::stats::{self, conformity, tail};

#[track_caller]
fn near(got: f64, expected: f64, tolerance: f64) {
    assert!((got - expected).abs() <= tolerance, "got {got}, expected {expected} within {tolerance}");
}

/// JCGM 100, 4.4.3 and Table 1: twenty temperatures (data from memory; they reproduce the printed 100.14, 1.49, 0.33).
#[test]
fn mean_of_twenty_temperatures() {
    let t = [
        96.90, 98.18, 98.25, 98.61, 99.03, 99.49, 99.56, 99.74, 99.89, 100.07, 100.33, 100.42, 100.68,
        100.95, 101.11, 101.20, 101.57, 101.84, 102.36, 102.72,
    ];
    near(stats::mean(&t).unwrap(), 100.145, 1e-9);
    near(stats::standard_deviation(&t).unwrap(), 1.488844483, 1e-9);
    near(stats::standard_error(&t).unwrap(), 0.3329157472, 1e-9);
    near(stats::standard_error(&t).unwrap() * tail::t_factor(0.95, 19.0), 0.69680, 5e-6);
}

/// On paper: groups (1, 3) and (10, 10, 13): SS = 2 + 6 = 8, dof = 1 + 2 = 3; a group of one adds nothing.
#[test]
fn pooling() {
    let pooled = stats::pooled(&[&[1.0, 3.0], &[10.0, 10.0, 13.0], &[7.0]]).unwrap();
    near(pooled.s, (8.0f64 / 3.0).sqrt(), 1e-12);
    assert_eq!(pooled.dof, 3.0);
    assert_eq!(stats::pooled(&[&[1.0]]), None);
    assert_eq!(stats::mean(&[]), None);
}

/// JCGM 100, 4.3.7 (rectangle), 4.3.9 (triangle), H.1.3.4 (arcsine), F.2.2.1 (resolution step, difference of two).
#[test]
fn divisors() {
    near(Part::within(1.0, Shape::Rectangular).u, 0.5773502692, 1e-10);
    near(Part::within(1.0, Shape::Triangular).u, 0.4082482905, 1e-10);
    near(Part::within(1.0, Shape::Arcsine).u, 0.5f64.sqrt(), 1e-10);
    near(Part::within(0.5, Shape::Rectangular).u, 0.2886751346, 1e-10);
}

/// JCGM 100, Table G.2 (printed to two or three decimals, here three).
#[test]
fn t_factors() {
    for (dof, t95, t9545) in [
        (1.0, 12.706, 13.968),
        (2.0, 4.303, 4.527),
        (3.0, 3.182, 3.307),
        (4.0, 2.776, 2.869),
        (5.0, 2.571, 2.649),
        (10.0, 2.228, 2.284),
        (20.0, 2.086, 2.133),
        (50.0, 2.009, 2.051),
        (f64::INFINITY, 1.960, 2.000),
    ] {
        near(tail::t_factor(0.95, dof), t95, 5e-4);
        near(tail::t_factor(0.9545, dof), t9545, 1.5e-3);
    }
    near(tail::t_factor(0.99, 1.0), 63.657, 5e-4);
    near(tail::t_factor(0.9973, 1.0), 235.78, 5e-3);
}

/// JCGM 100, G.4.1 example (printed 1.03 %, 19.0, 2.09, 2.2 %); dof = n − 1.
#[test]
fn effective_degrees_of_freedom() {
    let dof = tail::welch_satterthwaite(&[(0.25, 9.0), (0.57, 4.0), (0.82, 14.0)]);
    near(dof, 18.99874231, 1e-6);
    let sum = Spread::of(&[Part::scatter(0.25, 9.0), Part::scatter(0.57, 4.0), Part::scatter(0.82, 14.0)]);
    near(sum.u(), 1.029465881, 1e-8);
    near(sum.dof(), 18.99874231, 1e-6);
    near(sum.u() * tail::t_factor(0.95, 19.0), 2.154696852, 1e-3);
    near(sum.half_width_95(), sum.u() * tail::t_factor(0.95, dof), 1e-12);
    // H.1.6, end gauge: printed u_c 32 nm, ν_eff 16.
    let gauge = tail::welch_satterthwaite(&[(25.0, 18.0), (9.7, 25.6), (2.9, 50.0), (16.6, 2.0)]);
    near(gauge, 16.8, 0.1);
}

/// JCGM 101, 9.2.2: four normals, printed ±3.92. 9.2.3: four rectangles, 2√3(2 − (3/5)^¼), printed 3.88.
/// 9.2.4: three rectangles u = 1 and one u = 10, 17.01581 by the exact integral, printed 17.0.
#[test]
fn additive_model() {
    let of = |parts: [Part; 4]| Spread::of(&parts).half_width_95();
    let rect = |u: f64| Part { u, shape: Shape::Rectangular, dof: f64::INFINITY };
    near(of([Part::normal(1.0); 4]), 3.919928, 1e-6);
    near(of([rect(1.0); 4]), 3.879406741, 1e-4);
    near(of([rect(1.0), rect(1.0), rect(1.0), rect(10.0)]), 17.01581, 1e-4);
}

/// Adaptive quadrature in scipy 1.17 over the exact densities: derive/coverage.py.
#[test]
fn mixed_shapes() {
    use Shape::{Arcsine, Rectangular, Triangular};
    let part = |u: f64, shape| Part { u, shape, dof: f64::INFINITY };
    let half = |parts: &[Part]| Spread::of(parts).half_width_95();
    let two = [part(1.0, Rectangular), part(0.5, Rectangular)];
    let with = |more: Part| [two[0], two[1], more];
    near(half(&[part(1.0, Rectangular), Part::normal(1.0)]), 2.7116463827, 1e-7);
    near(half(&[part(1.0, Rectangular), Part::normal(0.1)]), 1.6590162199, 1e-7);
    near(half(&[part(1.0, Rectangular), Part::scatter(1.0, 4.0)]), 3.2982521125, 1e-7);
    near(half(&[part(1.0, Rectangular), Part::scatter(0.5, 1.0)]), 6.5087575806, 6e-5);
    near(half(&[part(1.0, Triangular), Part::normal(0.2)]), 1.9395479922, 1e-5);
    near(half(&[part(1.0, Arcsine), Part::normal(0.05)]), 1.4288881002, 1e-4);
    near(half(&[part(1.0, Rectangular), part(1.0, Arcsine), Part::normal(0.5)]), 2.8403583659, 2e-5);
    near(half(&with(Part::scatter(0.3, 3.0))), 2.2529366031, 2e-5);
    near(half(&with(Part::scatter(2.0, 3.0))), 6.6629418609, 6e-3);
    near(Spread::of(&with(Part::normal(0.1))).half_width(0.99), 2.3744065552, 2e-5);
    let mix = Spread::of(&[part(1.0, Rectangular), Part::scatter(1.0, 4.0)]);
    near(mix.cdf(1.0), 0.7315872260, 1e-8);
    near(mix.cdf(-1.0), 1.0 - 0.7315872260, 1e-8);
}

/// On paper: a lone rectangle ± a holds 95 % in 0.95 a, a triangle in a(1 − √0.05), an arcsine in a·sin(0.475 π).
#[test]
fn one_part_none_and_tiny_ones() {
    let lone = |shape| Spread::of(&[Part::within(2.0, shape)]).half_width_95();
    near(lone(Shape::Rectangular), 1.9, 1e-12);
    near(lone(Shape::Triangular), 2.0 * (1.0 - 0.05f64.sqrt()), 1e-12);
    near(lone(Shape::Arcsine), 2.0 * (0.475 * std::f64::consts::PI).sin(), 1e-12);
    assert_eq!(Spread::of(&[]).half_width_95(), 0.0);
    assert_eq!(Spread::of(&[]).cdf(0.0), 1.0);
    assert_eq!(Spread::of(&[]).cdf(-1.0), 0.0);
    for tiny in [Part::normal(1e-12), Part::within(1e-12, Shape::Rectangular), Part::normal(0.0)] {
        near(Spread::of(&[tiny, Part::within(2.0, Shape::Rectangular)]).half_width_95(), 1.9, 1e-8);
        near(Spread::of(&[tiny, Part::normal(1.0)]).half_width_95(), 1.959964, 1e-6);
    }
    // A rectangle whose edge the blur does not reach keeps 0.95 a; a small normal group the size of 0.001 a cannot matter.
    near(Spread::of(&[Part::normal(2e-3), Part::within(2.0, Shape::Rectangular)]).half_width_95(), 1.9, 1e-6);
    // Forty equal rectangles are normal for this purpose.
    near(
        Spread::of(&[Part::within(3f64.sqrt(), Shape::Rectangular); 40]).half_width_95(),
        1.96 * 40f64.sqrt(),
        0.02,
    );
    assert!(Spread::of(&[Part::normal(f64::NAN), Part::normal(1.0)]).half_width_95().is_finite());
}

/// Clopper and Pearson (1934) in beta form, Wilson (1927), and one-sided lower bounds: scipy, 1e-8.
#[test]
fn counts() {
    for (k, n, cp, w, low) in [
        (0, 10, (0.0, 0.3084971078), (0.0, 0.2775327999), 0.0),
        (10, 10, (0.6915028922, 1.0), (0.7224672001, 1.0), 0.7411344491),
        (9, 10, (0.554983883, 0.9974714215), (0.5958499732, 0.9821237869), 0.6058366976),
        (19, 20, (0.7512672372, 0.9987349105), (0.7638688066, 0.9911185512), 0.7838938358),
        (20, 20, (0.831566529, 1.0), (0.8388748419, 1.0), 0.8608916593),
        (3, 3, (0.2924017738, 1.0), (0.4385029682, 1.0), 0.3684031499),
        (5, 5, (0.4781762499, 1.0), (0.5655175352, 1.0), 0.5492802717),
        (1, 30, (0.0008435709266, 0.1721694556), (0.005908590382, 0.1667039099), 0.001708315644),
    ] {
        let (exact, score) = (clopper_pearson(k, n, 0.95), wilson(k, n, 0.95));
        near(exact.0, cp.0, 1e-9);
        near(exact.1, cp.1, 1e-9);
        near(score.0, w.0, 1e-9);
        near(score.1, w.1, 1e-9);
        near(lower_bound(k, n, 0.95), low, 1e-9);
    }
    // Exact 1 − 0.05^(1/n) for no failure in n: 45 %, 26 %, 14 %, 5 % at n = 5, 10, 20, 59.
    for n in [5u64, 10, 20, 30, 59] {
        near(failure_upper_bound(0, n, 0.95), 1.0 - 0.05f64.powf(1.0 / n as f64), 1e-12);
    }
    near(failure_upper_bound(0, 30, 0.95), 0.095034, 5e-7);
    assert!(failure_upper_bound(0, 20, 0.95) <= 0.14 && failure_upper_bound(0, 19, 0.95) > 0.14);
    assert_eq!(clopper_pearson(0, 0, 0.95), (0.0, 1.0));
    assert_eq!(wilson(0, 0, 0.95), (0.0, 1.0));
}

/// JCGM 106, 7.5 and examples (inputs from memory; they give the printed 0.92 and 0.99), and a claim of 1000 Wh, u 12 Wh.
#[test]
fn probability_of_conformity() {
    let inf = f64::INFINITY;
    near(conformity::at_most(-5.47, 0.05, inf, -5.40), 0.9192433408, 1e-9);
    near(conformity::at_least(509.7, 8.6, inf, 490.0), 0.9890095474, 1e-9);
    near(conformity::at_least(985.0, 12.0, inf, 1000.0), 0.105650, 5e-7);
    near(conformity::at_least(1020.0, 12.0, inf, 1000.0), 0.952210, 5e-7);
    near(conformity::at_least(1020.0, 12.0, 6.0, 1000.0), 0.926685, 5e-7);
    near(1.0 - conformity::at_most(9.8, 0.1, inf, 10.0), 0.022750, 5e-7);
    near(conformity::between(0.0, 1.0, inf, -1.959964, 1.959964), 0.95, 1e-6);
    assert_eq!(conformity::at_least(5.0, 0.0, inf, 5.0), 1.0);
    assert_eq!(conformity::at_most(5.1, 0.0, inf, 5.0), 0.0);
}

/// Consumer's and producer's risk: bad but accepted, good but rejected, over a prior density on [low, high].
/// `good` says which true values meet the tolerance; acceptance is y ≤ accept (and ≥ −accept when `both`).
fn risks(
    prior: impl Fn(f64) -> f64,
    range: (f64, f64),
    u: f64,
    limit: f64,
    accept: f64,
    both: bool,
) -> (f64, f64) {
    let n = 480_000; // puts the limits used below on a cell border
    let step = (range.1 - range.0) / n as f64;
    let (mut consumer, mut producer) = (0.0, 0.0);
    for j in 0..n {
        let x = range.0 + (j as f64 + 0.5) * step;
        let lower = if both { tail::normal_cdf((-accept - x) / u) } else { 0.0 };
        let accepted = tail::normal_cdf((accept - x) / u) - lower;
        let good = x <= limit && (!both || x >= -limit);
        if good {
            producer += step * prior(x) * (1.0 - accepted);
        } else {
            consumer += step * prior(x) * accepted;
        }
    }
    (consumer, producer)
}

/// JCGM 106, 9.5.4 (ball bearing, prior Gamma with shape 4 and rate 4, limit 2 µm, u 0.25 µm; printed 0.0080 for simple
/// acceptance, guard band 0.328 µm for 0.1 %), and a normal prior 0 ± 0.12 with tolerance ± 0.2, u 0.02.
#[test]
fn consumer_and_producer_risk() {
    let gamma = |x: f64| 256.0 / 6.0 * x.powi(3) * (-4.0 * x).exp();
    let (consumer, producer) = risks(gamma, (0.0, 12.0), 0.25, 2.0, 2.0, false);
    near(consumer, 0.008019111884, 1e-6);
    near(producer, 0.01744456923, 1e-6);
    let (consumer, producer) = risks(gamma, (0.0, 12.0), 0.25, 2.0, 1.671828772, false);
    near(consumer, 0.001, 1e-6);
    near(producer, 0.0754938761, 1e-6);
    let normal = |x: f64| tail::normal_pdf(x / 0.12) / 0.12;
    let (consumer, producer) = risks(normal, (-1.2, 1.2), 0.02, 0.2, 0.2, true);
    near(consumer, 0.01114349775, 1e-6);
    near(producer, 0.01574108743, 1e-6);
    let (consumer, producer) = risks(normal, (-1.2, 1.2), 0.02, 0.2, 0.16, true);
    near(consumer, 0.0002564665226, 1e-6);
    near(producer, 0.09312117922, 1e-6);
}
