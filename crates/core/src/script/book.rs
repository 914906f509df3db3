//! What the bench says, laid out for looking up: facts, what they replaced, single tests and trials.
use super::amount::Amount;
use super::lexicon::{Takes, takes};
use super::scene::sort_of;
use crate::facts::{self, Fact, Sort};
use crate::notebook::Condition;
use crate::quantity::{Dim, Unit};
use crate::report::{ModelReport, Report};
use crate::shown::{Style, shown, usual};
use crate::uncertain::Value;
use std::cell::{OnceCell, RefCell};
use std::collections::BTreeMap;
use std::rc::Rc;

/// Whose word a mark is.
#[derive(Clone, Debug, PartialEq)]
pub enum Whose {
    /// Measured or computed here.
    Bench,
    /// A single test or trial.
    Test,
    /// The maker's; true when the bench speaks against it.
    Maker(bool),
    /// No longer so, and why.
    Former(String),
}

/// A number the bench knows.
#[derive(Clone, Debug)]
pub struct Mark {
    /// Id of its fact.
    pub fact: Option<String>,
    /// Index of its model.
    pub model: usize,
    /// Result key.
    pub key: String,
    /// Sort of amount.
    pub takes: Takes,
    /// Currency of money.
    pub currency: String,
    /// Value in the unit its dimension is kept in.
    pub x: f64,
    /// The same with its doubts.
    value: Value,
    /// Condition.
    pub condition: Condition,
    /// Digest of what it is a number of: model, result, condition and whose word, a single test's being the bench's.
    pub id: u64,
    /// Whose word.
    pub whose: Whose,
    /// As printed, where it is no plain value: money.
    printed: String,
    /// The unit it is shown in.
    unit: Option<&'static Unit>,
    /// Half-width of its 95 % interval, once it was asked for.
    half: Rc<OnceCell<f64>>,
    /// As printed, once it was asked for.
    text: Rc<OnceCell<String>>,
}

impl Mark {
    /// As printed.
    pub fn text(&self) -> String {
        let write = || match self.unit {
            Some(unit) if self.printed.is_empty() => shown(&self.value, unit, Style::POINT).line(),
            Some(unit) => format!("{} {}", shown(&self.value, unit, Style::POINT).line(), self.printed),
            None => self.printed.clone(),
        };
        self.text.get_or_init(write).clone()
    }
    /// Measured or computed here.
    pub fn is_bench(&self) -> bool {
        self.whose == Whose::Bench
    }
    /// The maker's figure that is said.
    pub fn is_promise_of(&self, a: &Amount) -> bool {
        let sort = self.takes == sort_of(&a.what);
        matches!(self.whose, Whose::Maker(_)) && sort && (self.x - a.x).abs() <= 1e-9 * self.x.abs()
    }
    /// The value with its doubts.
    pub fn measured(&self) -> Value {
        self.value.clone()
    }
    /// Is something `off` from the value within this share of the half-width of its 95 % interval?
    pub fn within(&self, off: f64, share: f64) -> bool {
        let u = share * self.value.u();
        // The half-width lies between 1.4 u (arcsine) and, with few degrees of freedom, some u: it is worked out only
        // where that leaves it open.
        off <= 1.4 * u || (off <= 6.0 * u && off <= share * self.half.get_or_init(|| self.value.half95()))
    }
}

fn id_of(model: usize, key: &str, condition: &Condition, whose: &Whose) -> u64 {
    let whose = match whose {
        Whose::Bench | Whose::Test => "bench",
        Whose::Maker(_) => "maker",
        Whose::Former(why) => why,
    };
    facts::fnv1a(&format!("{model}/{key}/{condition:?}/{whose}"))
}

/// Everything a script can be held against.
pub struct Book<'a> {
    /// The report.
    pub report: &'a Report,
    /// All marks, by model.
    pub marks: Vec<Vec<Mark>>,
    /// Trials per model: key, n, k beyond the claim, fact id.
    pub counts: Vec<Vec<(String, f64, f64, String)>>,
    /// Runtimes worked out so far, by model and the bits of the load.
    runtimes: RefCell<BTreeMap<(usize, u64), Option<Mark>>>,
}

fn mark(model: usize, f: &Fact) -> Mark {
    let whose = match (f.sort, f.former.as_str()) {
        (_, why) if !why.is_empty() => Whose::Former(why.into()),
        (Sort::Claimed, _) => Whose::Maker(f.do_not_say.iter().any(|d| d.contains("without \"claimed\""))),
        _ => Whose::Bench,
    };
    Mark {
        id: id_of(model, &f.key, &f.condition, &whose),
        fact: Some(f.id.clone()),
        model,
        takes: takes(&f.key),
        currency: f.unit.split('/').next().filter(|u| u.len() == 3).unwrap_or("").to_string(),
        key: f.key.clone(),
        x: f.value.x,
        value: f.value.clone(),
        condition: f.condition.clone(),
        whose,
        printed: f.rounded.clone(),
        unit: Unit::of(&f.unit, f.value.dim).filter(|_| f.sort != Sort::Price),
        half: Rc::default(),
        text: Rc::default(),
    }
}

impl<'a> Book<'a> {
    /// Lays out a report.
    pub fn of(report: &'a Report) -> Book<'a> {
        let mut book = Book { report, marks: Vec::new(), counts: Vec::new(), runtimes: RefCell::default() };
        book.marks.resize_with(report.models.len(), Vec::new);
        book.counts.resize_with(report.models.len(), Vec::new);
        let index = |id: &str| report.models.iter().position(|m| m.id == id);
        let all = facts::numbers(report);
        for f in all.current {
            let Some(m) = index(&f.model) else { continue };
            match f.sort {
                Sort::Measured | Sort::Claimed | Sort::Price | Sort::Runtime => {
                    book.marks[m].push(mark(m, &f))
                }
                Sort::Count if f.id.ends_with("/beyond") => {
                    let n = report.models[m].claims.iter().find_map(|c| {
                        c.counted
                            .as_ref()
                            .filter(|n| c.claim.key == f.key && n.k as f64 == f.value.x)
                            .map(|n| n.n)
                    });
                    book.counts[m].push((f.key.clone(), n.unwrap_or(0) as f64, f.value.x, f.id.clone()));
                }
                _ => {}
            }
        }
        for f in all.former {
            if let Some(m) = index(&f.model) {
                let old = mark(m, &f);
                book.marks[m].push(old);
            }
        }
        for marks in &mut book.marks {
            let more = specific(marks);
            marks.extend(more);
        }
        for (m, model) in report.models.iter().enumerate() {
            let single = tests(report, m, model);
            book.marks[m].extend(single);
        }
        book
    }

    /// The runtime at a load, worked out when it is asked for.
    pub fn runtime(&self, model: usize, watts: f64) -> Option<Mark> {
        let work = || {
            let f = facts::runtime(self.report, &self.report.models[model], watts)?;
            Some(Mark { printed: String::new(), ..mark(model, &f) })
        };
        self.runtimes.borrow_mut().entry((model, watts.to_bits())).or_insert_with(work).clone()
    }

    /// Claimed continuous power in W.
    pub fn rated_w(&self, model: usize) -> Option<f64> {
        let claims = &self.report.models[model].claims;
        claims.iter().find(|c| c.claim.key == "sustained-output").and_then(|c| c.limit)
    }
}

/// Usable energy for a kilogram and for a unit of money, worked out from what is on record.
fn specific(marks: &[Mark]) -> Vec<Mark> {
    let bench = |key: &'static str| marks.iter().filter(move |k| k.key == key && k.whose == Whose::Bench);
    let of = |energy: &Mark, by: &Mark, key: &str, takes: Takes, unit: &str| Mark {
        id: id_of(energy.model, key, &energy.condition, &Whose::Bench),
        fact: energy.fact.clone(),
        key: key.into(),
        takes,
        currency: by.currency.clone(),
        x: energy.x / by.x,
        value: Value::exact(Dim::Energy, energy.x / by.x),
        printed: format!("{:.2} {unit}", energy.x / by.x),
        unit: None,
        half: Rc::default(),
        text: Rc::default(),
        ..energy.clone()
    };
    let mut out = Vec::new();
    // What comes back at half load of what went in.
    let half = |k: &&Mark| k.condition.get("load").is_some_and(|l| l == "50 %");
    for (energy, wall) in bench("usable-energy").filter(half).zip(bench("wall-energy")) {
        let share = energy.x / wall.x;
        for (key, x) in [("comes-back", share), ("lost-on-the-way", 1.0 - share)] {
            let printed = format!("{:.0} % ({} of {})", 100.0 * x, energy.text(), wall.text());
            let value = Value::exact(Dim::Ratio, x);
            out.push(Mark { x, value, printed, ..of(energy, wall, key, Takes::Ratio, "") });
        }
    }
    for energy in bench("usable-energy") {
        out.extend(bench("mass").map(|m| of(energy, m, "energy-per-kg", Takes::PerMass, "Wh/kg")));
        let unit = |p: &Mark| format!("Wh/{}", p.currency);
        out.extend(bench("price").map(|p| of(energy, p, "energy-per-money", Takes::PerMoney, &unit(p))));
    }
    out
}

/// What went into a cycling load, as read and as worked out, and how often it started.
fn while_cycling(test: &crate::notebook::Test, outcome: &crate::kind::Outcome) -> Vec<(&'static str, Value)> {
    let text = |key: &str| test.entries.get(key).map(|e| e.text.as_str());
    let energy = |text: &str| {
        let (x, unit) = text.split_once(' ')?;
        Some(Unit::of(unit, Dim::Energy)?.kept(x.parse().ok()?))
    };
    let read = |key: &str| text(key).and_then(energy);
    // A counter set to nothing is written down as 0, without a unit.
    let zero = text("counter_start").filter(|t| t.trim() == "0").map(|_| 0.0);
    let counted = read("counter_end").zip(read("counter_start").or(zero)).map(|(b, a)| b - a);
    let of = |key: &str| outcome.results.iter().find(|r| r.result.key == key).map(|r| r.value.x);
    let whole = of("cycling-mean").zip(of("cycling-runtime")).map(|(w, h)| w * h);
    let energies = counted.into_iter().chain(whole).map(|x| ("cycling-energy", Value::exact(Dim::Energy, x)));
    let starts = text("starts").and_then(|t| t.trim().parse().ok());
    let starts = starts.map(|n| ("compressor-starts", Value::exact(Dim::Count, n)));
    energies.chain(starts).collect()
}

fn tests(report: &Report, m: usize, model: &ModelReport) -> Vec<Mark> {
    let mut out = Vec::new();
    let now = |t: &&crate::notebook::Test| {
        let specimen = report.notebook.specimen(&t.specimen);
        specimen
            .is_some_and(|s| s.model == model.id && (s.firmware.is_empty() || s.firmware_now() == t.firmware))
    };
    for test in report.notebook.tests.iter().filter(|t| crate::repeat::counts(t)).filter(now) {
        let Some(outcome) = report.outcomes.get(&test.id) else { continue };
        let mut add = |key: &str, value: &Value, condition: &Condition, unit: &'static Unit| {
            out.push(Mark {
                id: id_of(m, key, condition, &Whose::Test),
                fact: None,
                model: m,
                key: key.into(),
                takes: takes(key),
                currency: String::new(),
                x: value.x,
                value: value.clone(),
                condition: condition.clone(),
                whose: Whose::Test,
                printed: format!("in test {}", test.id),
                unit: Some(unit),
                half: Rc::default(),
                text: Rc::default(),
            });
        };
        let kind_keys = |key: &str| {
            report.kinds.iter().any(|k| k.id == test.kind && k.results.iter().any(|r| r.key == key))
        };
        for found in &outcome.results {
            add(found.result.key, &found.value, &found.condition, found.result.shown_in());
        }
        for trials in &outcome.trials {
            for value in &trials.values {
                add(trials.result.key, value, &trials.condition, trials.result.shown_in());
            }
        }
        if kind_keys("cycling-runtime") {
            for (key, value) in while_cycling(test, outcome) {
                add(key, &value, &Condition::default(), usual(value.dim));
            }
        }
        // How long a discharge lasted is a runtime at its mean power.
        if let (Some(row), true) = (&outcome.row, kind_keys("usable-energy")) {
            let load = Condition::from([("load".to_string(), format!("{:.0} W", row.mean_w))]);
            add("runtime", &row.hours.clone().value(), &load, usual(Dim::Time));
        }
    }
    out
}
