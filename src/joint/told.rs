//! What the series make of the limit states of a model: bias, batch and scatter of each.

use super::block::{Block, Draws};
use super::calibration::lean::{self, Lean};
use super::calibration::place::JointCoordinates;
use super::calibration::scatter::Scatter;
use super::calibration::{Calibration, Correction};
use super::distribution::Law;
use super::mode::Mode;
use super::model::{InputOrigin, LimitState, Model, Var};
use super::side_by_side::{exponentials, logarithms};
use uom::si::f64::Ratio;

/// What the series make of the states of a model, state by state.
pub(super) struct Told {
    corrections: Vec<Vec<Var<Ratio>>>,
    /// Of the states whose inputs were measured through joints: what is left of the inputs' own spread.
    kept: Vec<Option<Kept>>,
    /// ln of the least load at medians, corrected, of the states of the part.
    pub(super) ln_middle: f64,
    /// Of each state, whether it leaves nothing at the medians, or is not reached there.
    unreached: Vec<bool>,
    /// What measured joints that held say of states which leave such joints nothing.
    survived: Option<Survived>,
}

/// Joints that were measured did not split before anything pulled. A state that says so of them is not what such joints are
/// like: it is left out of as many draws as this joint is like those, of all where it is the same, so that nothing jumps.
#[derive(Debug, Clone)]
struct Survived {
    /// Uniform between 0 and 1.
    chance: Var<Ratio>,
    /// How like the nearest measured joint this one is.
    alike: f64,
    /// Of each state: set aside whole, where it leaves nothing at the medians; its draws without load, where it does; not at all.
    states: Vec<SetAside>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum SetAside {
    Whole,
    WithoutLoad,
    Never,
}

/// What is left of the spread of a load about its value at medians: a joint that was measured has a level whatever the
/// strength behind its prediction is, so the doubt of the strength must not be counted a second time.
#[derive(Debug, Clone, Copy)]
struct Kept {
    middle: f64,
    share: f64,
}

/// Farthest a load is taken from its value at medians, as a factor either way, once measured joints speak: a draw of the
/// inputs that leaves nothing of a joint that held is no draw of it.
const FARTHEST: f64 = 20.0;

impl Kept {
    fn of(self, loads: &mut [f64]) {
        // The power by its logarithm.
        loads.iter_mut().for_each(|load| *load = (*load / self.middle).clamp(1.0 / FARTHEST, FARTHEST));
        logarithms(loads);
        loads.iter_mut().for_each(|ln| *ln *= self.share);
        exponentials(loads);
        loads.iter_mut().for_each(|load| *load *= self.middle);
    }
}

impl Survived {
    fn of(&self, draws: &Draws<'_>, loads: &mut Block) {
        let chances = draws.column(self.chance.place());
        for (loads, out) in loads.each_mut().zip(&self.states).filter(|(_, out)| **out != SetAside::Never) {
            let spoken = loads.iter_mut().zip(chances).filter(|(_, chance)| **chance < self.alike);
            let set_aside = spoken.filter(|(load, _)| *out == SetAside::Whole || **load <= 0.0);
            set_aside.for_each(|(load, _)| *load = f64::INFINITY);
        }
    }
}

impl Told {
    /// Nothing is told of that many states.
    pub(super) fn nothing(states: usize) -> Told {
        Told {
            corrections: vec![Vec::new(); states],
            kept: vec![None; states],
            ln_middle: f64::INFINITY,
            unreached: vec![true; states],
            survived: None,
        }
    }
    /// Adds bias, batch and scatter to a model's states in the part: `correction` is what is told of a mode, and of a state of
    /// it that leans on its inputs so.
    pub(super) fn of(model: &mut Model<'_>, scatter: Scatter, correction: impl Fn(Mode, Option<&Lean>) -> Correction) -> Told {
        model.assumptions.extend(["joint_sd_freedom", "batch_sd_freedom"]);
        let leans = lean::of(model);
        // Batches of this joint may differ by more than the floor that all methods share.
        let floor = model.assumed("batch_sd");
        let batches = libm::sqrt((scatter.between * scatter.between - floor * floor).max(0.0));
        let like = Law::LogNormal { median: 1.0, sd: libm::hypot(scatter.next(), batches) };
        let modes: Vec<(Mode, bool)> = model.states.iter().map(|s| (s.mode, s.alone)).collect();
        let unreached = leans.iter().map(Option::is_none).collect();
        let mut told = Told { corrections: Vec::new(), kept: Vec::new(), ln_middle: f64::INFINITY, unreached, survived: None };
        for ((mode, alone), lean) in modes.into_iter().zip(leans) {
            if mode.is_metal() {
                told.corrections.push(Vec::new());
                told.kept.push(None);
                continue;
            }
            let bias = correction(mode, lean.as_ref());
            let law = Law::LogNormal { median: libm::exp(bias.shift), sd: bias.sd };
            let of_mode = match alone {
                true => model.own(&format!("bias {}", mode.word()), law, InputOrigin::OwnBias(mode)),
                false => model.input(format!("bias {}", mode.word()), law, InputOrigin::Bias(mode)),
            };
            let mut of_state = vec![
                of_mode,
                model.spread_shared("batch_sd", "batch of the part"),
                model.own("scatter of like joints", like.clone(), InputOrigin::Assumed(vec!["joint_sd", "joint_sd_freedom"])),
            ];
            of_state.extend(model.lasting);
            told.corrections.push(of_state);
            told.ln_middle = lean.as_ref().map_or(told.ln_middle, |l| told.ln_middle.min(l.ln_load + bias.shift));
            let moved = lean.filter(|_| bias.keep < 1.0);
            told.kept.push(moved.map(|l| Kept { middle: libm::exp(l.ln_load), share: bias.keep.max(0.0) }));
        }
        told
    }
    /// Hears joints that held, of which the nearest is that much like this one; `failed` are the modes they failed in.
    pub(super) fn survive(&mut self, model: &mut Model<'_>, alike: f64, failed: &[Mode]) {
        let of = |(state, unreached): (&LimitState, &bool)| match () {
            () if state.mode.is_metal() || failed.contains(&state.mode) => SetAside::Never,
            () if *unreached => SetAside::Whole,
            () => SetAside::WithoutLoad,
        };
        let states: Vec<SetAside> = model.states.iter().zip(&self.unreached).map(of).collect();
        for (state, _) in model.states.iter().zip(&states).filter(|(_, out)| **out == SetAside::Whole && alike >= 1.0) {
            let caution = format!("by the model {} comes before any load; the joints that were measured held", state.mode.text());
            if !model.cautions.contains(&caution) {
                model.cautions.push(caution);
            }
        }
        let law = Law::Uniform { low: 0.0, high: 1.0 };
        let chance = model.own("measured joints that held", law, InputOrigin::Assumed(Vec::new()));
        self.survived = Some(Survived { chance, alike, states });
    }
    /// The same, read from other places of a draw.
    pub(super) fn read_at(mut self, places: &[usize]) -> Told {
        let chance = self.survived.iter_mut().map(|survived| &mut survived.chance);
        self.corrections.iter_mut().flatten().chain(chance).for_each(|var| *var = var.at(places[var.place()]));
        self
    }
    /// Corrects the loads of every state in a block of draws.
    pub(super) fn correct(&self, draws: &Draws<'_>, loads: &mut Block) {
        if let Some(survived) = &self.survived {
            survived.of(draws, loads);
        }
        for ((loads, corrections), kept) in loads.each_mut().zip(&self.corrections).zip(&self.kept) {
            if let Some(kept) = kept {
                kept.of(loads);
            }
            for factor in corrections {
                loads.iter_mut().zip(draws.column(factor.place())).for_each(|(load, factor)| *load *= factor);
            }
        }
    }
}

/// Scatter of like joints at a place, as a model sees it.
pub(super) fn scatter(model: &mut Model<'_>, calibration: &Calibration, place: &JointCoordinates) -> Scatter {
    let within = model.scatter.max(model.assumed("joint_sd"));
    calibration.scatter(place, within)
}
