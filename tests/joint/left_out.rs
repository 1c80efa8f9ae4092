//! Leave-one-out: of the published series, and of books simulated from the prior.

use super::book;
use super::near::very;
use super::posterior::Random;
use gripbook::book::Record;
use gripbook::book::view::Scalar;
use gripbook::joint::assumption::Assumptions;
use gripbook::joint::bonds;
use gripbook::joint::calibration::field::{Field, Site, Word};
use gripbook::joint::calibration::left_out::{LeftOut, foam_screws};
use gripbook::joint::calibration::place::{JointCoordinates, MeasuredJoint, Parts};
use gripbook::quantity::Quantity;
use gripbook::statistics::distribution::f_quantile;

fn set(text: &str) -> Assumptions {
    let mut assumptions = Assumptions::default();
    if !text.is_empty() {
        assumptions.set(text).expect("an assumption");
    }
    assumptions
}

#[test]
fn the_published_screws_are_predicted_from_one_another() {
    // Published: eleven screws in one foam, 10.1038/s41598-022-11824-2, table 2.
    let book = book(&[]);
    let of = |text: &str| foam_screws(&book, &set(text)).expect("screws");
    let found = of("");
    println!("{}", found.text());
    assert_eq!(found.tried, 11);
    assert!(found.held as f64 >= 0.85 * found.tried as f64, "{found:?}");
    // Wide: 0.40 of the spread. Since the kernel is of plain distances (one with a dead band is no covariance), screws that differ by
    // little no longer count as one, and the assumed part of a joint (`bias_joint_sd`) is larger than these screws show; 0.15
    // would be about right (self). Library: with the dead band 0.90, by linear algebra written in Python outside this program.
    let spread = |found: LeftOut| (found.squares / found.tried as f64).sqrt();
    assert!(spread(found) > 0.3 && spread(found) < 1.1, "never surer than they are: {found:?}");
    // The check can fail: joints that hardly differ are not what the screws show. Library: 7 of 11 and 1.89, the dead band aside.
    let alike = of("bias_joint_sd=0.05");
    assert!(alike.held == 7 && (spread(alike) - 1.89).abs() < 0.06, "{alike:?}");
}

#[test]
fn published_groups_scatter_as_the_prior_has_it() {
    // Published: groups of pull-outs with n and standard deviation. Nine of 10.7759/cureus.3893 made the prior (median and
    // spread of their variances); those of other studies did not.
    let (book, assumptions) = (book(&[]), Assumptions::default());
    let (sd, freedom) = (assumptions.value("joint_sd"), assumptions.value("joint_sd_freedom"));
    let force = |value: &Option<Scalar>| value.as_ref()?.read(Quantity::Force).map(|w| w.si);
    let scatter = |record: &Record| {
        let says = record.series().filter(|s| s.standing.is_none() && s.joint.method.is_some())?;
        let load = says.measured("pull_out_load")?;
        let n = load.n.filter(|n| *n > 2)? as f64;
        let cv = force(&load.sd)? / force(&load.mean)?;
        let ratio = (cv * cv).ln_1p() / (sd * sd);
        let within = |p: f64| f_quantile(p, n - 1.0, freedom);
        Some((record.id.to_string(), ratio < within(0.05), ratio > within(0.95)))
    };
    let all: Vec<(String, bool, bool)> =
        book.of_kind("series").filter(|r| r.current && !r.is_invented()).filter_map(scatter).collect();
    let (own, other): (Vec<_>, Vec<_>) = all.iter().partition(|g| g.0.contains("bohl"));
    let wider = |groups: &[&(String, bool, bool)]| groups.iter().filter(|g| g.2).count();
    let narrower = |groups: &[&(String, bool, bool)]| groups.iter().filter(|g| g.1).count();
    println!("prior's own {}: {} wider, {} narrower", own.len(), wider(&own), narrower(&own));
    println!("other studies {}: {} wider, {} narrower", other.len(), wider(&other), narrower(&other));
    // Hand: of the nine, the two of nylon at CV 51 and 32 % lie above 0.115 x root of F(3, 6; 95 %) = 0.25.
    assert_eq!((own.len(), wider(&own)), (9, 2));
    // A study in a test laboratory scatters less than prints of a workshop: careful, and never more than was believed.
    assert!(other.len() >= 5 && wider(&other) == 0, "{other:?}");
}

/// A book of joints: three materials of two families, lengths, holes and threads at random.
fn joints(random: &mut Random) -> Vec<JointCoordinates> {
    (0..30)
        .map(|i| {
            let material = ["a", "b", "c"][i % 3];
            let family = if material == "c" { "g" } else { "f" };
            let between = |random: &mut Random, low: f64, high: f64| low * (high / low).powf(random.unit());
            let major = [2e-3, 3e-3, 4e-3][(random.unit() * 3.0) as usize % 3];
            let joint = MeasuredJoint {
                method: ["cut", "printed"][i % 2].into(),
                thread: (major, major / 6.0),
                length: major * between(random, 1.0, 3.0),
                hole: major * between(random, 0.80, 0.92),
                boss: major * between(random, 2.0, 4.0),
                ..very()
            };
            let text = |t: &str| Some(t.to_owned());
            JointCoordinates { class: text("thermoplastic"), family: text(family), material: text(material), joint: Some(joint) }
        })
        .collect()
}

const NOISE: f64 = 0.12;
const BATCH: f64 = 0.10;

/// Share of joints of simulated books, drawn with the parts of the truth, that lie in the 90 % band which the others give by
/// the parts of the program.
fn covered(truth: &Parts, told: &Parts) -> f64 {
    let mut random = Random(11);
    let (mut held, mut tried) = (0, 0);
    for _ in 0..25 {
        let places = joints(&mut random);
        let n = places.len();
        // Each joint is of a batch of its own.
        let batch = |k: usize| if k / n == k % n { BATCH * BATCH } else { 0.0 };
        let all =
            |parts: &Parts| -> Vec<f64> { (0..n * n).map(|k| parts.shared(&places[k / n], &places[k % n]) + batch(k)).collect() };
        // Cholesky by hand: the discrepancies of a book, then one measured value of each.
        let (covariance, mut lower) = (all(truth), vec![0.0; n * n]);
        for i in 0..n {
            for j in 0..=i {
                let sum: f64 = (0..j).map(|k| lower[i * n + k] * lower[j * n + k]).sum();
                let rest = covariance[i * n + j] - sum;
                lower[i * n + j] = if i == j { rest.sqrt() } else { rest / lower[j * n + j] };
            }
        }
        let z: Vec<f64> = (0..n).map(|_| random.normal()).collect();
        assert!(lower.iter().all(|l| l.is_finite()), "a covariance is positive definite");
        let value = |i: usize| (0..=i).map(|k| lower[i * n + k] * z[k]).sum::<f64>();
        let y: Vec<f64> = (0..n).map(|i| value(i) + NOISE * random.normal()).collect();
        let sites = y.iter().enumerate().map(|(latent, y)| Site { latent, y: *y, sd: NOISE, word: Word::Failed }).collect();
        let field = Field::new(all(told), n, sites);
        for (i, y) in y.iter().enumerate() {
            let predicted = field.without(&[i]).latent(i);
            tried += 1;
            held += usize::from((y - predicted.mean).abs() <= 1.645 * (predicted.variance + NOISE * NOISE).sqrt());
        }
    }
    f64::from(held as u32) / f64::from(tried as u32)
}

#[test]
fn nine_of_ten_joints_of_a_book_lie_where_the_others_put_them() {
    let parts = Parts::of(&Assumptions::default());
    let right = covered(&parts, &parts);
    println!("left out of simulated books: {:.1} % held", right * 100.0);
    assert!((0.85..=0.95).contains(&right), "{right}");
    // The check can fail: a program that believed joints to be twice as much alike as they are promises too much.
    for wrong in ["bias_joint_sd=0.1", "far_length=3"] {
        let wrong = covered(&parts, &Parts::of(&set(wrong)));
        assert!(wrong < right - 0.02, "{wrong} of {right}");
    }
    assert!(covered(&parts, &Parts::of(&set("bias_joint_sd=0.1"))) < 0.85);
}

/// Published: 15 bonds of epoxy, polyurethane and acrylic on plastics in five studies (Hall 1969, Kaplan 1988 and Sangiuolo 1990
/// after Petrie 2000, Table 6.14; Spaggiari 2024).
#[test]
fn published_bonds_to_plastics_are_predicted_without_their_own_study() {
    let book = book(&[]);
    let rules = super::rules(&book);
    let need = super::need(&book, &rules, "pla", 6.0);
    let found = bonds::left_out(&need);
    println!("{} | {}", found.from_bonds.text(), found.from_class.text());
    for (of, least) in [(found.from_bonds, 3), (found.from_class, 8)] {
        assert!(of.tried >= least && of.held as f64 >= 0.75 * of.tried as f64, "{of:?}");
        assert!(of.squares <= 1.7 * of.tried as f64, "{of:?}");
    }
    // The check can fail: a share that is known better than it is holds less.
    let mut sure = need.clone();
    for bold in ["plastic_over_metal=0.39 to 0.41", "bond_families_sd=0.01", "bond_same_pair_sd=0.01", "bond_cv=0.01"] {
        sure.assumptions.set(bold).expect("an assumption");
    }
    let bold = bonds::left_out(&sure);
    assert!(bold.from_class.held < found.from_class.held, "{bold:?}");
}
