//! From options to a need.

use super::FastenArgs;
use crate::book::Book;
use crate::command::{Fault, library};
use crate::joint::assumption::Assumptions;
use crate::joint::need::{Need, Use};
use crate::mechanics::{call, thread};
use crate::plugins::methods;
use crate::quantity::{Measure, Quantity, parse};
use crate::suit::{Rule, STEPS};
use uom::si::f64::{Force, Length, RadiantExposure, ThermodynamicTemperature};

/// Longest length that makes sense for a screw in a printed part, m.
const LONGEST: f64 = 0.5;
/// Largest load that makes sense, N.
const HEAVIEST: f64 = 1e6;

/// The need that the options describe.
pub fn need<'b>(args: &FastenArgs, book: &'b Book, rules: &'b [Rule], assumptions: Assumptions) -> Result<Need<'b>, Fault> {
    let mut need = subject(args, book, rules)?;
    need.assumptions = assumptions;
    need.load = quantity("--need", args.need.as_deref(), Quantity::Force)?.map(Force::from_si);
    if need.load.is_some_and(|l| l.si() > HEAVIEST) {
        return Err(Fault::usage("--need: no screw of this table holds a meganewton").help("check the unit"));
    }
    if !(args.factor > 0.0 && args.factor <= 100.0) {
        return Err(Fault::usage(format!("--factor {}: a factor lies above 0 and at most at 100", args.factor)));
    }
    if !(100..=5_000_000).contains(&args.draws) {
        return Err(Fault::usage(format!("--draws {}: from 100 to 5000000", args.draws)));
    }
    (need.factor, need.draws, need.seed) = (args.factor, args.draws, args.seed);
    records(args, &mut need)?;
    sizes(args, &mut need)?;
    need.using = using(args)?;
    need.without = args.without.iter().copied().collect();
    need.steps = args.step.iter().filter_map(|s| STEPS.iter().copied().find(|known| known == s)).collect();
    need.unprepared = args.unprepared;
    light(args, &mut need)?;
    Ok(need)
}

/// Material, thread and length; for a calibration without a material any real one stands in.
fn subject<'b>(args: &FastenArgs, book: &'b Book, rules: &'b [Rule]) -> Result<Need<'b>, Fault> {
    let material = match &args.material {
        Some(text) => library::find(book, text, &["material"])?,
        None => book
            .of_role("material")
            .find(|r| !r.invented())
            .ok_or_else(|| Fault::data("the loaded packs hold no material".to_string()))?,
    };
    let thread = thread::fastening(args.thread.as_deref().unwrap_or("M3"))
        .map_err(|f| Fault::usage(format!("--thread: {}", f.message())).help(f.help()))?;
    let length = length("--length", args.length.as_deref())?.unwrap_or(Length::from_si(6e-3));
    let mut need = Need::new(book, rules, material, thread, length);
    need.any_material = args.material.is_none();
    if length > thread.major() * 20.0 {
        return Err(Fault::usage(format!(
            "--length: {} is more than twenty screw diameters",
            crate::quantity::Amount::of(length).text(3)
        ))
        .help("the engaged length is that over which screw and thread overlap"));
    }
    Ok(need)
}

fn records(args: &FastenArgs, need: &mut Need<'_>) -> Result<(), Fault> {
    let book = need.book;
    let find = |text: &Option<String>, role: &'static str| text.as_deref().map(|t| library::find(book, t, &[role])).transpose();
    need.insert = find(&args.insert, "insert")?;
    need.adhesive = find(&args.adhesive, "adhesive")?;
    need.screw = find(&args.screw, "screw")?;
    need.process = find(&args.process, "process")?;
    if let Some(insert) = need.insert
        && let Some(thread) = insert.rest["thread"].as_str()
        && thread != need.thread.designation()
    {
        return Err(Fault::usage(format!("{} is for {thread}, not for {}", insert.id, need.thread.designation()))
            .help("choose an insert of that thread, or leave --insert out"));
    }
    Ok(())
}

fn sizes(args: &FastenArgs, need: &mut Need<'_>) -> Result<(), Fault> {
    need.boss = length("--boss", args.boss.as_deref())?;
    need.edge = length("--edge", args.edge.as_deref())?;
    need.hole_size = length("--hole-size", args.hole_size.as_deref())?;
    need.depth = length("--depth", args.depth.as_deref())?;
    need.gap = length("--gap", args.gap.as_deref())?;
    need.offset = length("--offset", args.offset.as_deref())?;
    need.wall = length("--wall", args.wall.as_deref())?;
    need.through = !args.blind;
    if let Some(depth) = need.depth.filter(|d| *d < need.length) {
        let text = |l: Length| crate::quantity::Amount::of(l).text(3);
        return Err(Fault::usage(format!("--length {} does not fit into --depth {}", text(need.length), text(depth)))
            .help(format!("make the hole at least {} deep, or engage less", text(need.length))));
    }
    if let Some(edge) = need.edge.filter(|e| *e <= need.thread.major() * 0.5) {
        let text = |l: Length| crate::quantity::Amount::of(l).text(3);
        return Err(Fault::usage(format!("--edge {}: the hole of {} breaks out of it", text(edge), need.thread.designation()))
            .help(format!("it is measured from the axis; at least {} is advised", text(need.thread.major() * 1.25))));
    }
    if let Some(boss) = need.boss.filter(|b| *b <= need.thread.major()) {
        let text = |l: Length| crate::quantity::Amount::of(l).text(3);
        return Err(Fault::usage(format!("--boss {} lies inside the hole of {}", text(boss), need.thread.designation()))
            .help(format!("at least {} is advised", text(need.thread.major() * 2.5))));
    }
    Ok(())
}

fn using(args: &FastenArgs) -> Result<Use, Fault> {
    let temperature = |option: &str, text: Option<&str>| -> Result<Option<ThermodynamicTemperature>, Fault> {
        let Some(text) = text else { return Ok(None) };
        let written =
            parse(text, Quantity::Temperature).map_err(|f| Fault::usage(format!("{option}: {}", f.message())).help(f.help()))?;
        if !(4.0..=800.0).contains(&written.si) {
            return Err(Fault::usage(format!("{option}: no plastic is used at {text}")));
        }
        Ok(Some(ThermodynamicTemperature::from_si(written.si)))
    };
    let (hottest, coldest) =
        (temperature("--hottest", args.hottest.as_deref())?, temperature("--coldest", args.coldest.as_deref())?);
    if let (Some(hot), Some(cold)) = (hottest, coldest)
        && hot < cold
    {
        return Err(Fault::usage("--hottest lies below --coldest"));
    }
    let infill = quantity("--infill", args.infill.as_deref(), Quantity::Fraction)?;
    if infill.is_some_and(|i| i > 1.0) {
        return Err(Fault::usage("--infill: at most 100 %").help("write 40%"));
    }
    Ok(Use {
        hottest,
        coldest,
        duration: args.duration,
        place: args.place,
        axis: args.axis,
        perimeters: args.perimeters,
        infill,
        cycles: args.cycles,
        consequence: args.consequence,
    })
}

/// Dose and wavelength as given, else those of the process's post-cure.
fn light(args: &FastenArgs, need: &mut Need<'_>) -> Result<(), Fault> {
    let of_process = |name: &str| need.process.and_then(|p| p.rest["post_cure"][name].as_str()).map(str::to_string);
    let dose = args.dose.clone().or_else(|| of_process("dose"));
    let wavelength = args.wavelength.clone().or_else(|| of_process("wavelength"));
    need.dose = quantity("--dose", dose.as_deref(), Quantity::Dose)?.map(RadiantExposure::from_si);
    if let Some(bare) = wavelength.as_deref().filter(|t| t.parse::<f64>().is_ok()) {
        return Err(Fault::usage(format!("--wavelength: `{bare}` has no unit")).help(format!("write `{bare} nm`")));
    }
    need.wavelength = quantity("--wavelength", wavelength.as_deref(), Quantity::Length)?.map(Length::from_si);
    Ok(())
}

/// A quantity above zero.
fn quantity(option: &str, text: Option<&str>, quantity: Quantity) -> Result<Option<f64>, Fault> {
    let Some(text) = text else { return Ok(None) };
    let written = parse(text, quantity).map_err(|f| refused(option, text, quantity, &f))?;
    if written.si <= 0.0 {
        return Err(Fault::usage(format!("{option}: {text} is not above zero")));
    }
    Ok(Some(written.si))
}

/// A mass where a force is wanted gets the load in newtons offered too.
fn refused(option: &str, text: &str, quantity: Quantity, fault: &crate::quantity::QuantityFault) -> Fault {
    let mut help = fault.help();
    if quantity == Quantity::Force
        && let Ok(mass) = parse(text, Quantity::Mass)
    {
        const GRAVITY: f64 = 9.806_65;
        let newtons = crate::quantity::Amount::new(Quantity::Force, mass.si * GRAVITY).text(4);
        help = format!("{help} The weight of {text} is {newtons}.");
    }
    Fault::usage(format!("{option}: {}", fault.message())).help(help)
}

fn length(option: &str, text: Option<&str>) -> Result<Option<Length>, Fault> {
    let si = quantity(option, text, Quantity::Length)?;
    if si.is_some_and(|l| l > LONGEST) {
        return Err(
            Fault::usage(format!("{option}: half a metre is too much for a screw in a printed part")).help("check the unit")
        );
    }
    Ok(si.map(Length::from_si))
}

/// A method of that name.
pub fn method(name: &str) -> Result<(), Fault> {
    let names: Vec<&str> = methods::ALL.iter().map(|m| m.card().name).collect();
    if names.contains(&name) {
        return Ok(());
    }
    let near = call::nearest(name, names.iter().copied());
    let asked = near.first().map_or(String::new(), |n| format!("did you mean `{n}`? "));
    Err(Fault::usage(format!("no method is called `{name}`")).help(format!("{asked}methods: {}", names.join(", "))))
}
