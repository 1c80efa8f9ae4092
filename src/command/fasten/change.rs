//! The one or two things that would change the answer most: what is missing, the test that settles it, the largest doubt.

use super::words::{factor, percent, wanted};
use gripbook::joint::judge::{Candidate, Judgement};
use gripbook::joint::model::{InputOrigin, Lack, ModelInput};
use gripbook::joint::need::Need;
use gripbook::joint::trace;
use gripbook::quantity::{Amount, Measure, Quantity};
use gripbook::suit::Verdict;

/// Share of the spread from which an input is worth a line.
const WORTH: f64 = 0.10;
/// Things named.
const MOST: usize = 2;

/// Something that would change the answer.
pub struct WhatIf {
    /// What sort of thing it is, as the label of a line.
    pub what: &'static str,
    /// The thing.
    pub text: String,
    /// Of what is missing: what to give, without the words for what it is.
    pub needed: Option<String>,
}

impl WhatIf {
    fn of(what: &'static str, text: String) -> WhatIf {
        WhatIf { what, text, needed: None }
    }
}

/// The weightiest first.
pub fn would_change(judgement: &Judgement<'_>, best: &Candidate<'_>) -> Vec<WhatIf> {
    let gated = best.model.as_ref().is_none_or(|m| !m.model.gates.is_empty());
    if judgement.no_promise || (gated && best.verdict == Verdict::DoesNotSuit) {
        return Vec::new();
    }
    let lacks = best.missing.iter().filter(|l| l.blocks);
    let needed = |l: &Lack| {
        let text = format!("{}: {}", l.what, l.settle);
        WhatIf { needed: Some(l.settle.clone()), ..WhatIf::of("Missing", text) }
    };
    let missing = lacks.map(needed);
    let settling = settling(judgement.need, best).map(|text| WhatIf::of("Next test", text));
    let mut all: Vec<WhatIf> = missing.chain(settling).take(MOST).collect();
    // Trying every input takes as long as all else, so only where there is room for what it tells.
    if all.len() < MOST {
        all.extend(doubt(judgement.need, best).map(|text| WhatIf::of("Largest doubt", text)));
    }
    all
}

fn settling(need: &Need<'_>, best: &Candidate<'_>) -> Option<String> {
    let settling = best.settling?;
    let suits = settling.suits_from.zip(need.load).map(|(from, load)| {
        let mean = rounded_up(from);
        format!(" with a mean of {mean} or more would suit {}{};", wanted(need, load.si()), factor(need))
    });
    // A band whose lower end is nothing has no width to tell.
    let now = Some(best.capacity.as_ref()?.load.width()).filter(|width| width.is_finite());
    let (joints, then) = (settling.joints, settling.width);
    Some(match (suits, now) {
        (Some(suits), Some(now)) => {
            format!("{joints} such joints{suits} 90 % band then a factor of about {then:.1}, now {now:.1}")
        }
        (Some(suits), None) => format!("{joints} such joints{suits} 90 % band then a factor of about {then:.1}"),
        (None, Some(now)) => {
            format!("{joints} such joints would narrow the 90 % band from a factor of {now:.1} to about {then:.1}")
        }
        (None, None) => format!("{joints} such joints would narrow the 90 % band to a factor of about {then:.1}"),
    })
}

/// A load rounded up to two significant digits: what is asked for is never rounded down.
fn rounded_up(newtons: f64) -> String {
    let step = libm::pow(10.0, libm::floor(libm::log10(newtons)) - 1.0);
    Amount::new(Quantity::Force, libm::ceil(newtons / step - 1e-9) * step).text(2)
}

/// The inputs that bring most of the spread of the load.
fn doubt(need: &Need<'_>, best: &Candidate<'_>) -> Option<String> {
    let sealed = best.model.as_ref().filter(|_| best.capacity.is_some())?;
    let reads = trace::largest(sealed, need.seed, WORTH);
    let most = reads.iter().take(MOST);
    let named: Vec<String> =
        most.map(|r| format!("{} {}", percent(r.share.min(1.0)), in_words(need, &sealed.model.inputs[r.input]))).collect();
    (!named.is_empty()).then(|| format!("share of the spread: {}", named.join(", ")))
}

/// What an input is to a reader.
fn in_words(need: &Need<'_>, input: &ModelInput) -> String {
    match &input.origin {
        InputOrigin::Bias(mode) | InputOrigin::OwnBias(mode) => format!("model error of {}", mode.text()),
        InputOrigin::Claims { .. } => input.name.rsplit('/').next().unwrap_or(&input.name).replace('_', " "),
        InputOrigin::Assumed(names) => match names.first() {
            Some(name) => format!("{} (assumption {name})", need.assumptions.get(name).row.means),
            None => input.name.clone(),
        },
        InputOrigin::Thread | InputOrigin::Hole | InputOrigin::Series(_) | InputOrigin::Method { .. } => input.name.clone(),
    }
}
