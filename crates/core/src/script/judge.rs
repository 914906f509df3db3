//! Each amount against what the bench knows of the model it speaks of.
use super::amount::Amount;
use super::aside::aside;
use super::assign::{Pairing, assign};
use super::bare::Unit;
use super::book::{Book, Mark};
use super::compare::Fit;
use super::lexicon::{Firm, Sense, Takes};
use super::load::load_of;
use super::meaning::{Meant, aged, any_keys, keys_of, of_claim, per_day, supposed};
use super::scene::{Scene, Topic, any_takes, sort_of};
use super::unit::What;
use super::{Judgement, Line, place, rank, relate, ties, trials};
use crate::quantity::Dim;

/// What an amount asks of the record.
enum Asked {
    /// Nothing: its line is clear without.
    Said(Line),
    /// Which of several records it speaks of.
    Which(Box<Question>),
}

/// An amount with the records it may speak of.
struct Question {
    a: Amount,
    meant: Meant,
    topics: Vec<Topic>,
    choices: Vec<(Pairing, Mark)>,
}

/// What is carried from sentence to sentence, and what was found so far.
pub struct Desk<'a> {
    /// What the bench says.
    pub book: &'a Book<'a>,
    /// The model meant where none is named.
    pub default: Option<usize>,
    /// Models spoken of last.
    pub models: Vec<usize>,
    /// Topics of the sentence before.
    keys: Vec<&'static [&'static str]>,
    /// Energies said in the sentence before: value and step.
    pub energies: Vec<(f64, f64)>,
    /// Who was spoken of together, and which numbers were said.
    pub past: super::pair::Before,
    /// The models they were said of.
    pub energies_of: Vec<usize>,
    /// Powers said in the sentence before, in W.
    pub powers: Vec<f64>,
    /// The model spoken of before the last change of model.
    pub before: Option<usize>,
    /// Times of day said in the sentence before.
    pub stamps: Vec<super::clock::Spoken>,
    /// The sentence before asked, of a model, and this one is short: an answer.
    pub answers: bool,
    /// A question about a model was read last.
    asked_before: bool,
    /// Who the question read last asked for.
    pub asked: super::reply::Asked,
    /// The statements found.
    pub lines: Vec<Line>,
}

impl<'a> Desk<'a> {
    /// A desk with nothing read yet.
    pub fn new(book: &'a Book<'a>, default: Option<usize>) -> Desk<'a> {
        let models = default.into_iter().collect();
        Desk {
            book,
            default,
            models,
            keys: Vec::new(),
            energies: Vec::new(),
            energies_of: Vec::new(),
            past: super::pair::Before::default(),
            powers: Vec::new(),
            before: None,
            stamps: Vec::new(),
            answers: false,
            asked_before: false,
            asked: Vec::new(),
            lines: Vec::new(),
        }
    }

    /// Reads one sentence.
    pub fn read(&mut self, scene: &Scene, next: Option<&Scene>) {
        let start = self.lines.len();
        if self.models.is_empty()
            && scene.mentions.is_empty()
            && let Some(m) = next.and_then(|s| s.mentions.first())
        {
            self.models = m.models.clone();
        }
        self.answers = self.asked_before && scene.tokens.len() <= 12;
        let mut done = vec![false; scene.amounts.len()];
        relate::elapsed(self, scene, &mut done);
        if self.lines.len() == start {
            self.lines.extend(super::diary::times(self, scene));
        }
        trials::counts(self, scene, &mut done);
        let told = super::promised::told_as_measured(self, scene, &mut done);
        self.lines.extend(told);
        self.right_differences(scene, &mut done);
        relate::quotients(self, scene, &mut done);
        let beside = ties::tie(self, scene).into_iter().chain(ties::difference(self, scene, &mut done));
        self.lines.extend(beside.collect::<Vec<_>>());
        rank::superlatives(self, scene, &mut done);
        self.lines.extend(super::reply::answered(self, scene));
        self.lines.extend(super::kept::promise(self, scene, &mut done));
        self.lines.extend(super::side::beside_promise(self, scene));
        self.lines.extend(super::sequence::sequence(self, scene));
        self.lines.extend(super::kept::held(self, scene, &mut done));
        let places = place::places(self, scene, &mut done);
        self.lines.extend(places);
        self.wrong_differences(scene, &mut done);
        let lines = self.amounts(scene, &done);
        self.lines.extend(lines);
        self.lines[start..].sort_by_key(|l| l.line);
        self.carry(scene, start);
    }

    fn carry(&mut self, scene: &Scene, start: usize) {
        self.asked = super::reply::asked(self, scene);
        self.asked_before = scene.asks && !scene.mentions.is_empty();
        // What something is held against is not what the next "it" stands for.
        let told = scene.mentions.iter().rev().find(|m| !m.foil);
        if let Some(m) = told.or(scene.mentions.last().filter(|_| self.models.is_empty())) {
            if let ([old], true) = (self.models.as_slice(), self.models != m.models) {
                self.before = Some(*old);
            }
            self.models = m.models.clone();
        } else if self.models.is_empty() {
            self.models = self.default.into_iter().collect();
        }
        self.keys = scene
            .cues
            .iter()
            .filter_map(|c| match c.sense {
                Sense::Topic(keys, _) => Some(keys),
                _ => None,
            })
            .collect();
        // "Granary: 61 minutes. Barge: 126. Colossus: 89.": what the first were, the next is.
        if self.keys.is_empty() {
            let found = self.lines[start..].iter().filter(|l| l.judgement == Judgement::Agrees);
            let key = |l: &Line| super::vocabulary::alone(l.fact.as_ref()?.split('/').nth(1)?);
            self.keys = found.filter_map(key).collect();
        }
        self.energies = relate::energies(scene).into_iter().map(|a| (a.x, a.step)).collect();
        self.energies_of = self.models.clone();
        let power = |a: &&Amount| a.what == What::Dim(Dim::Power);
        self.powers = scene.amounts.iter().filter(power).map(|a| a.x).collect();
        self.past.span = match (self.stamps.as_slice(), scene.stamps.as_slice()) {
            ([a], [b]) => Some((*a, *b)),
            _ => None,
        };
        self.stamps = scene.stamps.clone();
        self.past.note(scene);
    }

    /// A line for an amount.
    pub fn line(
        &self,
        scene: &Scene,
        a: &Amount,
        judgement: Judgement,
        mark: Option<&Mark>,
        hint: String,
    ) -> Line {
        Line {
            line: scene.tokens[a.at].line,
            says: scene.text(a.from, a.to),
            fact: mark.and_then(|m| m.fact.clone()),
            record: mark.map(Mark::text),
            judgement,
            hint,
        }
    }

    /// The models an amount can speak of; empty when none is known.
    pub fn models_at(&self, scene: &Scene, at: usize) -> Vec<usize> {
        let side = self.side_of_comparison(scene, at).map(|m| vec![m]);
        let side = side.or_else(|| self.subject_or_foil(scene, at)).or_else(|| self.either(scene, at));
        side.or_else(|| scene.models(at).map(|m| m.models.clone())).unwrap_or_else(|| self.models.clone())
    }

    /// What an amount asks of the record: nothing, or a line that needs none, or a choice among records.
    fn asked(&self, scene: &Scene, a: &Amount) -> Option<Asked> {
        if let Some(daily) = per_day(scene, a) {
            return self.asked(scene, &daily);
        }
        let sort = match &a.what {
            // "it comes to 80 cents": a price of a few cents is one per watt-hour.
            What::Money(_) if a.x < 3.0 => Takes::MoneyPerWh,
            what => sort_of(what),
        };
        match a.what {
            What::PowerPerTime => return Some(Asked::Said(self.rate(scene, a))),
            What::MoneyPerW(_) if !self.prices(scene, a) => return None,
            What::MoneyPerW(_) => {
                let hint =
                    "a price per watt-hour is meant: watts say how fast, watt-hours how much".to_string();
                return Some(Asked::Said(self.line(scene, a, Judgement::WrongUnit, None, hint)));
            }
            _ if matches!(sort, Takes::Other | Takes::Current) => {
                let slip = self.current_for_power(scene, a).map(Asked::Said);
                if slip.is_some() || sort == Takes::Other {
                    return slip;
                }
            }
            _ => {}
        }
        let models = self.models_at(scene, a.at);
        let topics = self.topics(scene, a, sort);
        // "a 12-volt port" tells which port.
        let names =
            |c: &super::lexicon::Cue| matches!(c.sense, Sense::Topic(..)) && c.at <= a.at && a.to <= c.to;
        if sort == Takes::Voltage && scene.cues.iter().any(names) {
            return None;
        }
        // How long it stood on the shelf is no result; "a 30-amp breaker" is none of its own.
        let shelf = sort == Takes::Time && scene.on_the_shelf();
        if shelf || (sort == Takes::Current && a.describes) {
            return None;
        }
        if aside(scene, a) || self.is_condition(scene, a, sort, &topics) {
            return None;
        }
        let unknown = models.is_empty();
        let models = if unknown { (0..self.book.report.models.len()).collect() } else { models };
        let foreign = scene.stranger(a) && scene.mentions.is_empty();
        let slip = || self.slip(scene, a, sort, &models).filter(|l| !unknown || l.record.is_some());
        if let Some(slip) = (!foreign && a.unit == Unit::Said).then(slip).flatten() {
            return Some(Asked::Said(slip));
        }
        let told = keys_of(scene, a, sort, topics.first(), &topics);
        // "You pay 229 dollars today" is not plainly one of the station: it counts where it agrees.
        let money = matches!(sort, Takes::Money | Takes::MoneyPerWh) && told.is_some();
        let states = self.states(scene, a, sort, &topics);
        let guess = told.is_none() || supposed(scene, a) || (money && !states);
        let keys = told.unwrap_or_else(|| any_keys(sort).to_vec());
        if keys.is_empty() || unknown && sort != Takes::Energy || !(guess || states) {
            return None;
        }
        let meant = Meant { sort, keys, models, unknown, guess };
        let choices = self.choices(scene, a, &meant, &topics);
        Some(Asked::Which(Box::new(Question { a: a.clone(), meant, topics, choices })))
    }

    /// Lines for the amounts of a sentence that nothing else has dealt with: all of them are settled together.
    fn amounts(&self, scene: &Scene, done: &[bool]) -> Vec<Line> {
        let open = scene.amounts.iter().zip(done).filter(|(_, done)| !**done);
        let (mut lines, mut questions) = (Vec::new(), Vec::new());
        // Units that were said wrong.
        let mut slips: Vec<What> = Vec::new();
        for (a, asked) in open.filter_map(|(a, _)| Some((a, self.asked(scene, a)?))) {
            match asked {
                Asked::Said(line) => {
                    slips.extend((line.judgement == Judgement::WrongUnit).then(|| a.what.clone()));
                    lines.push(line);
                }
                Asked::Which(question) => questions.push(question),
            }
        }
        let pairings: Vec<Vec<Pairing>> =
            questions.iter().map(|q| q.choices.iter().map(|(p, _)| *p).collect()).collect();
        let says: Vec<f64> = questions.iter().map(|q| q.a.x).collect();
        for (q, chosen) in questions.iter().zip(assign(&pairings, &says)) {
            let found = chosen.map(|k| &q.choices[k]).map(|(p, mark)| (p.fit, mark.clone()));
            // "Cycle life: 4,000": the bench counts no cycles at all.
            let count = q.a.unit == Unit::Sure && q.meant.sort == Takes::Count && found.is_none();
            let close = count
                || found.as_ref().is_some_and(|(fit, m)| match q.a.unit {
                    _ if q.meant.guess => *fit == Fit::Agrees,
                    Unit::Said => true,
                    Unit::Sure => (q.a.x - m.x).abs() <= 0.6 * m.x.abs(),
                    Unit::LeftOut => *fit == Fit::Agrees || !self.known(scene, &q.a, m),
                    Unit::Guessed => *fit == Fit::Agrees,
                });
            if let Some(line) = self.slip_alone(scene, &q.a, &q.meant).filter(|_| found.is_none()) {
                lines.push(line);
                continue;
            }
            if !((q.a.unit == Unit::Said && !q.meant.guess) || close)
                || self.somebody_elses(scene, &q.a, &q.meant, &q.topics, found.as_ref())
            {
                continue;
            }
            let marks = q.choices.iter().map(|(p, mark)| (p.fit, mark));
            let line = match found.as_ref().and_then(|f| self.promise_kept(scene, &q.a, f, marks)) {
                Some(line) => line,
                None => self.verdict(scene, &q.a, &q.meant, found),
            };
            // A number without a unit took the wrong one over from the number beside it.
            let passed_on = q.a.unit != Unit::Said && slips.contains(&q.a.what);
            if line.judgement == Judgement::Agrees || !(passed_on || self.asserts_nothing(scene, &q.a)) {
                lines.push(line);
            }
        }
        lines
    }

    /// What the sentence before spoke of.
    pub fn topics_before(&self) -> &[&'static [&'static str]] {
        &self.keys
    }

    /// The result the sentence before spoke of, where it is ranked.
    pub fn ranked_before(&self) -> Option<&'static str> {
        self.keys.iter().find_map(|k| super::order::ranked_of(k))
    }

    /// Is it a statement about a station at all?
    fn states(&self, scene: &Scene, a: &Amount, sort: Takes, topics: &[Topic]) -> bool {
        let runs = sort == Takes::Time
            && (scene.load_before.is_some() || scene.amounts.iter().any(|p| load_of(scene, p, &[])))
            && !self.models.is_empty();
        sort == Takes::Energy
            || topics.first().is_some_and(|t| t.firm == Firm::Strong)
            || (sort == Takes::MoneyPerWh && scene.says_price_per_wh() && !self.models.is_empty())
            || (sort == Takes::Ratio && !self.models.is_empty() && scene.speaks_of_claim())
            || scene.of_station()
            || scene.tokens.len() < 9
            || (scene.is_fragment(a) && !self.models.is_empty())
            || runs
    }

    /// Topics that take this sort of amount; a short sentence without any goes on with those before it.
    fn topics(&self, scene: &Scene, a: &Amount, sort: Takes) -> Vec<Topic> {
        let own = scene.topics(a, |keys| any_takes(keys, sort));
        let own = if own.is_empty() { scene.topics_before(a, |keys| any_takes(keys, sort)) } else { own };
        let firm = |keys: &[&str]| any_takes(keys, sort) || sort != Takes::Time;
        let none = !scene.cues.iter().any(|c| matches!(c.sense, Sense::Topic(k, Firm::Strong) if firm(k)));
        if own.is_empty() && none && (scene.tokens.len() <= 10 || scene.goes_on_with(&self.keys, a)) {
            let before = self.keys.iter().filter(|k| any_takes(k, sort));
            return before.map(|keys| Topic { keys, firm: Firm::Weak, gap: 50, near: false }).collect();
        }
        own
    }

    /// A power that ends a sentence without any time or energy, where the sentence before spoke of idling.
    fn rests_at(&self, scene: &Scene, a: &Amount) -> bool {
        let idle = self.keys.iter().any(|k| k.first() == Some(&"idle-draw"));
        let other = |b: &Amount| b.at != a.at && b.what != What::Bare;
        idle && a.to == scene.tokens.len() && scene.of_station() && !scene.amounts.iter().any(other)
    }

    /// It says under which load or to which charge, and is no statement of its own.
    fn is_condition(&self, scene: &Scene, a: &Amount, sort: Takes, topics: &[Topic]) -> bool {
        match sort {
            // "The Barge is calmer there, at 25.9 watts": of what the sentence before spoke of.
            Takes::Power if self.rests_at(scene, a) => false,
            Takes::Power => load_of(scene, a, topics),
            Takes::Ratio => {
                let share = topics.first().is_some_and(|t| t.firm == Firm::Strong)
                    || topics.iter().any(|t| t.firm == Firm::Strong && t.keys == ["usable-share"]);
                let of_energy = scene.word(a.to) == "of"
                    && scene
                        .amounts
                        .iter()
                        .any(|e| e.at >= a.to && e.at <= a.to + 3 && e.what != What::Dim(Dim::Ratio));
                scene.is_load_share(a)
                    || scene.overload(a).is_some()
                    || !(share
                        || scene.shown_at_end(a)
                        || scene.on_the_shelf()
                        || aged(scene, a)
                        || scene.of_what_went_in(a).is_some()
                        || of_energy
                        || of_claim(scene, a))
            }
            _ => false,
        }
    }
}
