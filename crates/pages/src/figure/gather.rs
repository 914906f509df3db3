//! Which pictures a report gives, and what stands on each.
use super::head::Number;
use super::{Drawing, Figure, bars, card, claim, discharge, runtime, strip};
use crate::chart::runtime::{Curve, load_of};
use crate::piece;
use crate::site::claims::{each_trial, grounds};
use crate::site::context::{MAIN_COLUMNS, main_columns};
use crate::site::words;
use trueplate_core::claims::ClaimRow;
use trueplate_core::disclosure;
use trueplate_core::facts::{self, Fact, Sort, slug};
use trueplate_core::kind::Column;
use trueplate_core::measurand::Better;
use trueplate_core::notebook::{Condition, Specimen, Test};
use trueplate_core::quantity::{Dim, Unit};
use trueplate_core::report::{ModelReport, Report, condition_words, titled};
use trueplate_core::shown::{Style, duration_words, shown};
use trueplate_core::uncertain::Value;

/// What the owner of the pictures chooses.
#[derive(Clone, Debug)]
pub struct Options {
    /// How numbers are written.
    pub style: Style,
    /// Results that are compared, by key; empty: the first result of each kind.
    pub main: Vec<String>,
}

impl Default for Options {
    fn default() -> Self {
        Options { style: Style::POINT, main: Vec::new() }
    }
}

/// One model and what its pictures are drawn from.
struct From<'a> {
    report: &'a Report,
    model: &'a ModelReport,
    facts: Vec<&'a Fact>,
    options: &'a Options,
}

/// Every picture of every model that may be published, or of the one with this id. Pure, and quick: nothing is drawn yet.
pub fn figures(report: &Report, options: &Options, only: Option<&str>) -> Vec<Figure> {
    let facts = facts::facts(report);
    let models = report.models.iter().filter(|m| m.gate.is_empty() && only.is_none_or(|id| m.id == id));
    let compared = main_columns(report, &options.main, MAIN_COLUMNS);
    let told = main_columns(report, &[], usize::MAX);
    models
        .flat_map(|model| {
            let facts = facts.iter().filter(|f| f.model == model.id).collect();
            From { report, model, facts, options }.all(&told, &compared)
        })
        .collect()
}

fn number(value: &Value, unit: &'static Unit, style: Style) -> Number {
    let s = shown(value, unit, style);
    Number { number: s.number, pm: s.pm, unit: s.unit.into() }
}

impl From<'_> {
    /// `told`: the columns whose numbers get a strip; `compared`: those that get bars.
    fn all(&self, told: &[Column], compared: &[Column]) -> Vec<Figure> {
        let mut all = Vec::new();
        all.extend(told.iter().filter_map(|c| self.strip(self.measured(c)?)));
        let computed = self.facts.iter().filter(|f| matches!(f.sort, Sort::Runtime | Sort::Price));
        all.extend(computed.filter_map(|f| self.strip(f)));
        all.extend(self.model.claims.iter().filter_map(|c| self.claim(c)));
        all.extend(compared.iter().filter_map(|c| self.bars(c)));
        all.extend(self.runtimes());
        all.extend(self.discharge());
        // A card without any picture beside it discloses nothing.
        if !all.is_empty() {
            all.push(self.card());
        }
        all
    }

    fn figure(&self, title: &str, fact: &str, content: Vec<String>, drawing: Drawing) -> Figure {
        Figure::new((&self.model.id, &self.model.name), title, fact, &content, drawing)
    }

    /// The number of a column; where this model has none, the first under another condition.
    fn measured(&self, column: &Column) -> Option<&Fact> {
        let of = |f: &&&Fact| f.sort == Sort::Measured && f.key == column.result.key;
        let exact = self.facts.iter().find(|f| of(f) && f.condition == column.condition);
        exact.or_else(|| self.facts.iter().find(of)).copied()
    }

    fn strip(&self, fact: &Fact) -> Option<Figure> {
        let style = self.options.style;
        let mut title = fact.title.clone();
        let number = match fact.sort {
            Sort::Measured => number(&fact.value, Unit::of(&fact.unit, fact.value.dim)?, style),
            Sort::Runtime => number(&fact.value, Dim::Time.kept_in(), style),
            Sort::Price if fact.key == "price-per-wh" => {
                let price = self.model.price.price.as_ref()?;
                // A price is never shown without its day.
                title = format!("{}, {} price of {}", fact.title, price.kind, words::day(&price.on));
                Number { unit: fact.unit.clone(), ..number(&fact.value, Dim::Count.kept_in(), style) }
            }
            _ => return None,
        };
        let content = vec![fact.version.clone(), number.line()];
        let drawing = strip::Strip { name: self.model.name.clone(), title: title.clone(), number };
        Some(self.figure(&title, &fact.id, content, Drawing::Strip(drawing)))
    }

    fn claim(&self, row: &ClaimRow) -> Option<Figure> {
        let (result, limit, style) = (row.result?, row.limit?, self.options.style);
        let counted = row.counted.as_ref();
        let value =
            counted.map_or(row.measured.as_ref(), |c| c.worst.as_ref()).filter(|v| v.x.is_finite())?;
        let of = |f: &&&Fact| {
            f.sort == Sort::Claimed
                && f.key == row.claim.key
                && f.condition == row.claim.condition
                && f.wording.contains(&row.claim.text)
        };
        let fact = self.facts.iter().find(of)?;
        let unit = result.shown_in();
        let most = if row.minimum { "at least" } else { "at most" };
        let symbol = if unit.symbol.is_empty() { String::new() } else { format!(" {}", unit.symbol) };
        let stated = format!("{most} {}{symbol}", piece::plain(unit.shown(limit), style));
        let measured = match counted {
            Some(c) => {
                let worst = shown(value, unit, style).number;
                let words = format!("{} of {} trials beyond it, the worst {worst}{symbol}", c.k, c.n);
                claim::Measured::Trials(words, each_trial(self.report, row))
            }
            None => claim::Measured::Value(number(value, unit, style)),
        };
        let told = match &measured {
            claim::Measured::Trials(words, _) => words.clone(),
            claim::Measured::Value(number) => number.line(),
        };
        let (title, why) = (titled(result, &row.claim.condition), grounds(row).join("; "));
        let content =
            vec![fact.version.clone(), stated.clone(), told, row.verdict.words().into(), why.clone()];
        let drawing = claim::Claimed {
            name: self.model.name.clone(),
            title: title.clone(),
            stated,
            measured,
            limit,
            minimum: row.minimum,
            half: if value.has_u() { value.half95() } else { 0.0 },
            x: value.x,
            verdict: row.verdict,
            why,
        };
        Some(self.figure(&title, &fact.id, content, Drawing::Claim(drawing)))
    }

    fn bars(&self, column: &Column) -> Option<Figure> {
        let (key, style) = (column.result.key, self.options.style);
        self.model.at(column)?;
        let same = |f: &&&Fact| f.sort == Sort::Rank && f.key == key && f.condition == column.condition;
        let fact = self.facts.iter().find(same)?;
        let open = self.report.models.iter().filter(|m| m.gate.is_empty());
        let mut all: Vec<(&ModelReport, Value)> =
            open.filter_map(|m| Some((m, m.at(column).filter(|v| v.x.is_finite())?))).collect();
        all.sort_by(|a, b| a.1.x.total_cmp(&b.1.x));
        if column.result.better == Better::More {
            all.reverse();
        }
        let mine = all.iter().position(|(m, _)| m.id == self.model.id)?;
        // The stations nearest to it, which a buyer weighs it against.
        let first = mine.saturating_sub(bars::ROWS / 2).min(all.len().saturating_sub(bars::ROWS));
        let row = |(m, value): &(&ModelReport, Value)| bars::Row {
            name: m.name.clone(),
            number: number(value, column.result.shown_in(), style),
            x: value.x,
            half: if value.has_u() { value.half95() } else { 0.0 },
            mine: m.id == self.model.id,
        };
        let rows: Vec<bars::Row> = all[first..].iter().take(bars::ROWS).map(row).collect();
        if rows.len() < 2 {
            return None;
        }
        let title = titled(column.result, &column.condition);
        let mut content = vec![fact.version.clone()];
        content.extend(rows.iter().map(|r| format!("{} {}", r.name, r.number.line())));
        let place = format!("place {}", fact.rounded);
        let drawing = bars::Bars { title: title.clone(), rows, place };
        Some(self.figure(&title, &fact.id, content, Drawing::Bars(drawing)))
    }

    fn runtimes(&self) -> Vec<Figure> {
        let label = |test: &str| load_of(&self.report.notebook, test);
        let several = self.specimens().count() > 1;
        let current = self.model.drains.iter().filter(|d| !d.superseded);
        let curves = current.filter_map(|d| Some((d, Curve::of(d, label)?)));
        let one = |(i, (drain, curve)): (usize, (&trueplate_core::drain::Drain, Curve))| {
            let of = self.specimens().enumerate().find(|(_, s)| s.id == drain.specimen).filter(|_| several);
            let whose = of.map_or(String::new(), |(i, s)| format!(", {}", words::specimen(s, i)));
            let title = format!("How long it runs{whose}");
            let point = |p: &(f64, f64, f64, f64)| format!("{:.3e} {:.3e} {:.3e} {:.3e}", p.0, p.1, p.2, p.3);
            let mut content: Vec<String> = curve.points.iter().map(point).collect();
            content.extend(curve.measured.iter().map(|m| format!("{:.3e} {}", m.0, m.2)));
            content.extend(
                curve.held_out.iter().map(|h| format!("{:.3e} {:.3e} {:.3e} {}", h.0, h.1, h.2, h.3)),
            );
            let nth = if i == 0 { String::new() } else { format!("-{}", i + 1) };
            let fact = format!("{}/runtime-curve{nth}", slug(&self.model.id));
            let drawing = runtime::Runtime { name: self.model.name.clone(), title: title.clone(), curve };
            self.figure(&title, &fact, content, Drawing::Runtime(drawing))
        };
        curves.enumerate().map(one).collect()
    }

    /// The discharge behind the usable energy: at half load where there is one; of several runs one with a log, else the last.
    fn discharge(&self) -> Option<Figure> {
        let half = Condition::from([("load".to_string(), "50 %".to_string())]);
        let energies = || self.facts.iter().filter(|f| f.sort == Sort::Measured && f.key == "usable-energy");
        let fact = energies().find(|f| f.condition == half).or_else(|| energies().next())?;
        let whole = |id: &&String| self.report.outcomes.get(*id)?.row.as_ref().filter(|r| r.complete);
        let runs: Vec<&String> = fact.trail.iter().filter(|id| whole(id).is_some()).collect();
        let logged = runs.iter().copied().find(|id| self.trace(id).is_some());
        let test = logged.or(runs.last().copied())?;
        let (row, outcome) = (whole(&test)?, self.report.outcomes.get(test)?);
        let result = outcome.results.iter().find(|f| f.result.key == fact.key)?.result;
        let hours = row.hours.x();
        let trace = self.trace(test);
        let about = match (&trace, runs.len()) {
            (Some(_), 1) => String::new(),
            (Some(_), n) => format!("drawn: one run of {n}"),
            (None, 1) => format!("{:.0} W on average", row.mean_w),
            (None, n) => format!("{:.0} W on average, one run of {n}", row.mean_w),
        };
        let trace =
            trace.unwrap_or_else(|| vec![(0.0, row.mean_w, row.mean_w), (hours, row.mean_w, row.mean_w)]);
        let energy = number(&fact.value, result.shown_in(), self.options.style);
        let title = format!("A discharge, {}", condition_words(&fact.condition));
        let mut content = vec![fact.version.clone(), energy.line(), duration_words(hours), about.clone()];
        content.extend(trace.iter().map(|p| format!("{:.3e} {:.3e} {:.3e}", p.0, p.1, p.2)));
        let (name, lasted) = (self.model.name.clone(), duration_words(hours));
        let drawing =
            discharge::Discharge { name, title: title.clone(), trace, hours, lasted, energy, about };
        Some(self.figure(&title, &fact.id, content, Drawing::Discharge(drawing)))
    }

    /// Power over time from the log of a test, from the load going on: hours, lowest and highest W.
    fn trace(&self, test: &str) -> Option<Vec<(f64, f64, f64)>> {
        let outcome = self.report.outcomes.get(test)?;
        let log = outcome.recordings.values().find_map(|r| r.log())?;
        let from = log.on.as_ref().map_or(0.0, |m| m.elapsed_s);
        let to = log.off.as_ref().unwrap_or(&log.last).elapsed_s;
        let within = log.curve.iter().filter(|p| (from..=to).contains(&p.at_s));
        let trace: Vec<_> = within.map(|p| ((p.at_s - from) / 3600.0, p.min_w, p.max_w)).collect();
        (trace.len() > 2).then_some(trace)
    }

    fn specimens(&self) -> impl Iterator<Item = &Specimen> {
        self.report.notebook.specimens.iter().filter(|s| s.model == self.model.id)
    }

    fn card(&self) -> Figure {
        let several = self.specimens().count() > 1;
        let one = |(i, s): (usize, &Specimen)| match several {
            true => format!("{}: {}", words::capital(&words::specimen(s, i)), disclosure::of_specimen(s)),
            false => disclosure::of_specimen(s),
        };
        let told: Vec<String> = self.specimens().enumerate().map(one).collect();
        let of = |t: &&Test| self.specimens().any(|s| s.id == t.specimen);
        let tests: Vec<&Test> = self.report.notebook.tests.iter().filter(of).collect();
        let days: Vec<&str> = tests.iter().map(|t| t.day.as_str()).collect();
        let tester = &self.report.notebook.settings.tester;
        let by = if tester.is_empty() { "Tested".to_string() } else { format!("Tested by {tester}") };
        let foot = format!("{by}: {}, {}", words::count(tests.len(), "test", "tests"), words::span(&days));
        let foot = foot.trim_end_matches([' ', ',']).to_string();
        let title = "How it came to the bench".to_string();
        let short = disclosure::of_model(&self.report.notebook, &self.model.id).card;
        let short = if short.is_empty() { title.clone() } else { short };
        let content: Vec<String> = told.iter().cloned().chain([short.clone(), foot.clone()]).collect();
        let drawing = card::Card { name: self.model.name.clone(), title: short, told, foot };
        let fact = format!("{}/disclosure", slug(&self.model.id));
        self.figure(&title, &fact, content, Drawing::Card(drawing))
    }
}
