use super::*;
use crate::joint::geometry::{Check, EngagedThread, Groove, Insert, InsertStep, Size};
use crate::mechanics::thread;
use std::collections::HashMap;
use std::f64::consts::PI;
use uom::si::f64::Length;

pub fn length(mm: f64) -> Length {
    Length::from_si(mm / 1e3)
}

fn step(purpose: &'static str, section: Section, diameter: f64, from: f64, to: f64, drawn: Drawn) -> HoleStep {
    let size = Size { nominal: length(diameter), low: length(diameter - 0.05), high: length(diameter + 0.05) };
    let check = Check { go: length(diameter - 0.05), no_go: length(diameter + 0.05) };
    HoleStep { purpose, section, finished: size, drawn, check, from: length(from), to: length(to) }
}

fn printed(diameter: f64) -> Drawn {
    Drawn::Size { diameter: length(diameter), offset: length(-0.1), sd: None }
}

/// A blind hole of two steps with a recess, and a glued insert in it.
pub fn stepped() -> Geometry {
    let thread = thread::parse("M3").expect("a thread");
    let steps = vec![
        InsertStep { diameter: length(5.2), length: length(1.5), form: "plain".into(), knurl_depth: None, knurl: None },
        InsertStep {
            diameter: length(4.6),
            length: length(4.2),
            form: "knurl".into(),
            knurl_depth: Some(length(0.2)),
            knurl: None,
        },
    ];
    Geometry {
        boss: length(11.0),
        boss_given: false,
        through: false,
        depth: length(7.7),
        hole: vec![
            step("insert", Section::Round, 5.4, 0.0, 1.5, printed(5.5)),
            step("insert", Section::Round, 4.8, 1.5, 6.7, printed(4.9)),
            step("protrusion", Section::Round, 3.4, 6.7, 7.7, printed(3.5)),
        ],
        thread: EngagedThread { thread, engaged: length(5.7), offset: length(0.0), made: "metal" },
        insert: Some(Insert {
            id: None,
            name: "Sleeve".into(),
            length: length(5.7),
            thread_length: length(5.7),
            through: true,
            steps,
        }),
        insert_at: length(0.0),
        gap: Some((length(0.1), length(0.1))),
        grooves: vec![Groove { from: length(3.0), to: length(4.0), diameter: length(6.0) }],
        vent: None,
        chamfer: None,
        assumed: Vec::new(),
    }
}

fn nut() -> Geometry {
    let mut g = stepped();
    g.grooves.clear();
    g.through = true;
    g.hole = vec![
        step("nut pocket", Section::Hexagon, 5.5, 0.0, 2.4, Drawn::Unknown("print the hole ladder first".into())),
        step("clearance", Section::Round, 3.4, 2.4, 7.7, Drawn::Machined),
    ];
    g
}

fn volume(triangles: &[solid::Triangle]) -> f64 {
    let cross = |a: &solid::Point, b: &solid::Point, c: &solid::Point| {
        a.x * (b.y * c.z - b.z * c.y) - a.y * (b.x * c.z - b.z * c.x) + a.z * (b.x * c.y - b.y * c.x)
    };
    triangles.iter().map(|[a, b, c]| cross(a, b, c) / 6.0).sum()
}

/// Every edge is walked once each way: no gap, no flipped triangle.
#[test]
fn cutting_bodies_are_closed() {
    for geometry in [stepped(), nut()] {
        let mut edges: HashMap<[[i64; 3]; 2], i64> = HashMap::new();
        let key = |p: &solid::Point| [p.x, p.y, p.z].map(|c| (c * 1e7).round() as i64);
        let triangles = solid::surface(&geometry);
        for t in &triangles {
            for k in 0..3 {
                let (a, b) = (key(&t[k]), key(&t[(k + 1) % 3]));
                assert_ne!(a, b, "no edge of no length");
                *edges.entry([a, b]).or_default() += 1;
                *edges.entry([b, a]).or_default() -= 1;
            }
        }
        assert!(triangles.len() > 500);
        assert!(edges.values().all(|n| *n == 0), "open or flipped edges");
        let bytes = solid::stl(&geometry);
        assert_eq!(bytes.len(), 84 + 50 * triangles.len(), "binary STL: 84 bytes and 50 a triangle");
    }
}

/// Sum of cylinders by hand; the 120-sided polygon is n/(2π)·sin(2π/n) of the circle.
#[test]
fn cutting_bodies_hold_the_volume_of_their_cylinders() {
    let polygon = 120.0 / (2.0 * PI) * (2.0 * PI / 120.0).sin();
    let cylinder = |d: f64, h: f64| PI / 4.0 * d * d * h * polygon;
    // 1 mm proud of the mouth; a recess of Ø 6 from 3 to 4.
    let by_hand = cylinder(5.5, 2.5) + cylinder(4.9, 1.5) + cylinder(6.0, 1.0) + cylinder(4.9, 2.7) + cylinder(3.5, 1.0);
    assert!((volume(&solid::surface(&stepped())) - by_hand).abs() < 1e-6);
    // A regular hexagon of width s across flats has the area s²·√3/2.
    let hexagon = 5.5 * 5.5 * 3f64.sqrt() / 2.0 * 3.4;
    let by_hand = hexagon + cylinder(3.4, 5.3 + 1.0);
    assert!((volume(&solid::surface(&nut())) - by_hand).abs() < 1e-6);
}

#[test]
fn the_finished_size_is_shown_and_said_where_no_offset_is_known() {
    assert_eq!(shown(&stepped()), Shown::Drawn);
    assert_eq!(shown(&nut()), Shown::Finished);
    let block = section::TitleBlock {
        mark: "INVENTED DATA".into(),
        title: "Joint <1>".into(),
        lines: vec![("book".into(), "book 0123456789ab".into())],
    };
    let finished = section::svg(&nut(), &block);
    assert!(finished.contains("FINISHED") && finished.contains("hole ladder") && finished.contains("Joint &lt;1&gt;"));
    let drawn = section::svg(&stepped(), &block);
    assert!(drawn.contains("drawn size") && drawn.contains("book 0123456789ab"));
    assert_eq!(drawn, section::svg(&stepped(), &block), "same bytes");
    assert!(!drawn.contains("NaN"));
}

/// A step a millimetre long has its number beside those of its neighbours, not on top of them.
#[test]
fn numbers_of_short_steps_stand_apart() {
    let mut short = stepped();
    short.hole = vec![
        step("insert", Section::Round, 5.4, 0.0, 6.0, printed(5.5)),
        step("insert", Section::Round, 4.8, 6.0, 6.4, printed(4.9)),
        step("protrusion", Section::Round, 3.4, 6.4, 7.7, printed(3.5)),
    ];
    for geometry in [stepped(), short] {
        let svg = section::svg(&geometry, &section::TitleBlock::default());
        let number = |part: &str, name: &str| -> f64 {
            let (_, rest) = part.split_once(&format!("{name}=\"")).expect("an attribute");
            rest.split('"').next().and_then(|n| n.parse().ok()).expect("a number")
        };
        let circles = svg.split("<circle ").skip(1).map(|part| (number(part, "cx"), number(part, "cy"), number(part, "r")));
        let circles: Vec<(f64, f64, f64)> = circles.collect();
        assert!(circles.len() >= 6, "{svg}");
        for (at, a) in circles.iter().enumerate() {
            for b in &circles[..at] {
                assert!((a.0 - b.0).hypot(a.1 - b.1) >= a.2 + b.2, "{a:?} {b:?}");
            }
        }
    }
}

#[test]
fn profiles_run_down_the_wall_and_close_on_the_axis() {
    let csv = profile::table(&stepped()).csv();
    let depths: Vec<f64> = csv.lines().skip(1).map(|l| l.split(',').nth(1).expect("depth").parse().expect("a number")).collect();
    assert!(depths.windows(2).all(|w| w[0] <= w[1]), "{csv}");
    assert!(csv.lines().nth(1).expect("a row").starts_with("2.75,0,round,insert,drawn"), "{csv}");
    assert!(csv.lines().last().expect("a row").starts_with("0,7.7,"), "{csv}");
    assert!(profile::table(&nut()).csv().contains("hexagon across flats"));
}
