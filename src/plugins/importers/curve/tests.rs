//! Writings of home-built testers, and what must be refused with its line.

use super::*;
use crate::quantity::Quantity;
use crate::series::importer::{ColumnAsk, RowIn};

#[derive(Default)]
struct Kept(Vec<(f64, f64, u64)>);
impl Sink for Kept {
    fn sample(&mut self, travel: f64, load: f64, line: u64) {
        self.0.push((travel, load, line));
    }
    fn row(&mut self, _: RowIn) {}
    fn progress(&mut self, _: u64) {}
}

/// Samples kept by the reader, and what it understood of the file.
type Reading = (Vec<(f64, f64, u64)>, Understood);

fn read(text: &[u8], ask: Ask) -> Result<Reading, Vec<Finding>> {
    let mut kept = Kept::default();
    Curve.read(&mut &text[..], &ask, &mut kept).map(|u| (kept.0, u))
}

fn samples(text: &str, ask: Ask) -> Vec<(f64, f64, u64)> {
    read(text.as_bytes(), ask).unwrap_or_else(|f| panic!("{text}: {f:?}")).0
}

#[test]
fn one_pull_in_many_writings() {
    let want = vec![(0.0, 0.5, 2), (0.005, 12.25, 3)];
    let plain = Ask::default;
    for text in [
        "travel (mm),load (N)\n0.0000,0.5\n0.0050,12.25\n",
        "Travel [mm];Force [N]\r\n0,0000;0,5\r\n0,0050;12,25\r\n",
        "\u{FEFF}Position_mm\tForce_N\n0\t0.5\n0.005\t12.25",
        "Load N,Extension mm\n0.5,0\n12.25,0.005\n",
        "\"Weg (mm)\";\"Kraft (N)\"\n\"0\";\"0,5\"\n\"0,005\";\"12,25\"\n",
        "displacement/mm force/kN\n0 0.0005\n0.005 0.01225\n",
        "time (s),travel (mm),load (N)\n0,0,0.5\n1,0.005,12.25\n",
        "travel (mm),clock,load (N),note\r\n0,10:05:01,0.5,\r\n0.005,10:05:02,12.25,slipped\r\n",
    ] {
        let got = samples(text, plain());
        let near = got.len() == want.len()
            && got.iter().zip(&want).all(|(g, w)| (g.0 - w.0).abs() < 1e-12 && (g.1 - w.1).abs() < 1e-9 && g.2 == w.2);
        assert!(near, "{text:?}: {got:?}");
    }
    let timed = Ask { speed: Some(0.1), ..plain() };
    assert_eq!(samples("time_s,force_N\n0.00,0.5\n0.05,12.25\n", timed)[1], (0.05 * 0.1, 12.25, 3));
    let named = Ask {
        load_column: Some(ColumnAsk::Number(2)),
        load_unit: Quantity::Force.unit("kgf"),
        travel_column: Some(ColumnAsk::Number(1)),
        travel_unit: Quantity::Length.unit("mm"),
        ..plain()
    };
    assert_eq!(samples("0,0\n1,2\n", named)[1], (1.0, 2.0 * 9.80665, 2));
    let units_below = "travel,load\n(mm),(N)\n0,0.5\n0.005,12.25\n";
    assert_eq!(samples(units_below, plain()).len(), 2);
    let reversed = Ask { reversed: true, zero: 2.0, ..plain() };
    assert_eq!(samples("travel (mm),load (N)\n0,-2\n1,-12\n", reversed)[1].1, 10.0);
}

fn refused(text: &str, ask: Ask) -> (&'static str, u32) {
    let list = read(text.as_bytes(), ask).expect_err(text);
    let f = list.last().unwrap();
    assert!(f.help.is_some(), "{f:?}");
    (f.rule, f.place.span.unwrap().line)
}

#[test]
fn what_cannot_be_known_is_asked() {
    let head = "travel (mm),load (N)\n";
    let plain = Ask::default;
    assert_eq!(refused("position_mm,load_kg\n0,0\n1,2\n", plain()), ("load-in-mass", 1));
    assert_eq!(refused("travel,load (N)\n0,0\n1,2\n", plain()), ("column-unit-missing", 1));
    assert_eq!(refused("time (s),load (N)\n0,0\n1,2\n", plain()), ("speed-missing", 1));
    assert_eq!(refused("0,0\n1,2\n", plain()).0, "column-missing");
    assert_eq!(refused("travel (mm),load (N),force (N)\n0,0,0\n1,2,2\n", plain()).0, "column-ambiguous");
    assert_eq!(refused("", plain()).0, "samples-none");
    assert_eq!(refused("hello\nworld\n", plain()).0, "samples-none");
    assert_eq!(refused(&format!("{head}0,0\n\0,1\n"), plain()), ("nul-byte", 3));
    assert_eq!(refused("travel (mm);load (N)\n0.0;0.5\n0.1;0,7\n0.2;0.9\n", plain()), ("decimal-mark-mixed", 3));
    assert_eq!(refused(&format!("{head}0,0\n0,1,2\n"), plain()), ("cells-differ", 3));
    assert_eq!(refused(&format!("{head}0,0\n1,5\n2,6\n{head}0,0\n1,5\n"), plain()), ("header-repeated", 5));
    assert_eq!(refused(&format!("{head}0,0\n,\n,\n1,2\n"), plain()).0, "rows-unreadable");
}

#[test]
fn oddities_are_named_and_nothing_is_lost() {
    let rows: String = (0..60).map(|i| format!("{i},{i}\n")).collect();
    let text = format!("travel (mm),load (N)\n{rows}end of test\ntravel (mm),load (N)\n60,1\n");
    let (samples, understood) = read(text.as_bytes(), Ask::default()).unwrap();
    assert_eq!(samples.len(), 61);
    let named: Vec<(&str, u32)> = understood.findings.iter().map(|f| (f.rule, f.place.span.unwrap().line)).collect();
    assert_eq!(named, [("row-left-out", 62), ("header-repeated", 63)]);
}

/// Blocks end inside lines; every sample arrives once.
#[test]
fn long_files_are_read_in_blocks() {
    let mut text = String::from("travel (mm),load (N)\n");
    for i in 0..200_000 {
        text += &format!("{}.{:05},{}.5\n", i / 100_000, i % 100_000, i % 977);
    }
    let got = samples(&text, Ask::default());
    assert_eq!((got.len(), got[199_999]), (200_000, (1.99999, (199_999 % 977) as f64 + 0.5, 200_001)));
}
