//! Data of published examples, typed from their publications or documentation; every set is confirmed by the values it must give.

/// R data set `sleep` (Student 1908): extra hours of sleep under two drugs.
pub const SLEEP: [&[f64]; 2] =
    [&[0.7, -1.6, -0.2, -1.2, -0.1, 3.4, 3.7, 0.8, 0.0, 2.0], &[1.9, 0.8, 1.1, 0.1, -0.1, 4.4, 5.5, 1.6, 4.6, 3.4]];

/// R data set `PlantGrowth` (Dobson 1983): control and two treatments.
pub const PLANT_GROWTH: [&[f64]; 3] = [
    &[4.17, 5.58, 5.18, 6.11, 4.50, 4.61, 5.17, 4.53, 5.33, 5.14],
    &[4.81, 4.17, 4.41, 3.59, 5.87, 3.83, 6.03, 4.89, 4.32, 4.69],
    &[6.31, 5.12, 5.54, 5.50, 5.37, 5.29, 4.92, 6.15, 5.80, 5.26],
];

/// R data set `warpbreaks` (Tukey 1977): breaks by wool (A, B) and tension (L, M, H).
pub const WARP_BREAKS: [[&[f64]; 3]; 2] = [
    [
        &[26.0, 30.0, 54.0, 25.0, 70.0, 52.0, 51.0, 26.0, 67.0],
        &[18.0, 21.0, 29.0, 17.0, 12.0, 18.0, 35.0, 30.0, 36.0],
        &[36.0, 21.0, 24.0, 18.0, 10.0, 43.0, 28.0, 15.0, 26.0],
    ],
    [
        &[27.0, 14.0, 29.0, 19.0, 29.0, 31.0, 41.0, 20.0, 44.0],
        &[42.0, 26.0, 19.0, 16.0, 39.0, 28.0, 21.0, 39.0, 29.0],
        &[20.0, 21.0, 24.0, 17.0, 13.0, 15.0, 15.0, 16.0, 28.0],
    ],
];

/// R data set `airquality` (Chambers 1983): ozone in parts per billion from May to September, missing days left out.
pub const OZONE: [&[f64]; 5] = [
    &[
        41.0, 36.0, 12.0, 18.0, 28.0, 23.0, 19.0, 8.0, 7.0, 16.0, 11.0, 14.0, 18.0, 14.0, 34.0, 6.0, 30.0, 11.0, 1.0, 11.0, 4.0,
        32.0, 23.0, 45.0, 115.0, 37.0,
    ],
    &[29.0, 71.0, 39.0, 23.0, 21.0, 37.0, 20.0, 12.0, 13.0],
    &[
        135.0, 49.0, 32.0, 64.0, 40.0, 77.0, 97.0, 97.0, 85.0, 10.0, 27.0, 7.0, 48.0, 35.0, 61.0, 79.0, 63.0, 16.0, 80.0, 108.0,
        20.0, 52.0, 82.0, 50.0, 64.0, 59.0,
    ],
    &[
        39.0, 9.0, 16.0, 78.0, 35.0, 66.0, 122.0, 89.0, 110.0, 44.0, 28.0, 65.0, 22.0, 59.0, 23.0, 31.0, 44.0, 21.0, 9.0, 45.0,
        168.0, 73.0, 76.0, 118.0, 84.0, 85.0,
    ],
    &[
        96.0, 78.0, 73.0, 91.0, 47.0, 32.0, 20.0, 23.0, 21.0, 24.0, 44.0, 21.0, 28.0, 9.0, 13.0, 46.0, 18.0, 13.0, 24.0, 16.0,
        13.0, 23.0, 36.0, 7.0, 14.0, 30.0, 14.0, 18.0, 20.0,
    ],
];

/// Michelson's speeds of light less 299 000 km/s (R data set `morley`, NIST StRD set Michelso).
pub const MICHELSON: [f64; 100] = [
    850.0, 740.0, 900.0, 1070.0, 930.0, 850.0, 950.0, 980.0, 980.0, 880.0, 1000.0, 980.0, 930.0, 650.0, 760.0, 810.0, 1000.0,
    1000.0, 960.0, 960.0, 960.0, 940.0, 960.0, 940.0, 880.0, 800.0, 850.0, 880.0, 900.0, 840.0, 830.0, 790.0, 810.0, 880.0,
    880.0, 830.0, 800.0, 790.0, 760.0, 800.0, 880.0, 880.0, 880.0, 860.0, 720.0, 720.0, 620.0, 860.0, 970.0, 950.0, 880.0, 910.0,
    850.0, 870.0, 840.0, 840.0, 850.0, 840.0, 840.0, 840.0, 890.0, 810.0, 810.0, 820.0, 800.0, 770.0, 760.0, 740.0, 750.0, 760.0,
    910.0, 920.0, 890.0, 860.0, 880.0, 720.0, 840.0, 850.0, 850.0, 780.0, 890.0, 840.0, 780.0, 810.0, 760.0, 810.0, 790.0, 810.0,
    820.0, 850.0, 870.0, 870.0, 810.0, 740.0, 810.0, 940.0, 950.0, 800.0, 810.0, 870.0,
];

/// Vaccine trials (Colditz et al. 1994, data set `dat.bcg`): cases and non-cases treated, cases and non-cases untreated.
pub const VACCINE: [[f64; 4]; 13] = [
    [4.0, 119.0, 11.0, 128.0],
    [6.0, 300.0, 29.0, 274.0],
    [3.0, 228.0, 11.0, 209.0],
    [62.0, 13536.0, 248.0, 12619.0],
    [33.0, 5036.0, 47.0, 5761.0],
    [180.0, 1361.0, 372.0, 1079.0],
    [8.0, 2537.0, 10.0, 619.0],
    [505.0, 87886.0, 499.0, 87892.0],
    [29.0, 7470.0, 45.0, 7232.0],
    [17.0, 1699.0, 65.0, 1600.0],
    [186.0, 50448.0, 141.0, 27197.0],
    [5.0, 2493.0, 3.0, 2338.0],
    [27.0, 16886.0, 29.0, 17825.0],
];

/// JCGM 100:2008 H.2: voltage in V, current in mA, phase in rad, five times together.
pub const RESISTOR: [[f64; 5]; 3] =
    [[5.007, 4.994, 5.005, 4.990, 4.999], [19.663, 19.639, 19.640, 19.685, 19.678], [1.0456, 1.0438, 1.0468, 1.0428, 1.0433]];

/// JCGM 100:2008 H.3: thermometer readings and observed corrections in °C.
pub const THERMOMETER: [[f64; 11]; 2] = [
    [21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511],
    [-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160],
];

/// A set of the NIST StRD file, univariate ones written as a rule included.
pub fn univariate(name: &str) -> Vec<f64> {
    if name == "Michelso" {
        return MICHELSON.iter().map(|v| (v + 299_000.0) / 1000.0).collect();
    }
    let sets = nist();
    let set = &sets["univariate"][name];
    if let Some(list) = set.as_array() {
        return list.iter().map(decimal).collect();
    }
    let rule = set.as_str().unwrap_or_else(|| panic!("no univariate set {name}"));
    let n = super::table::numbers(&rule.replace(['(', ')'], " "));
    let (first, times, low, high) = (n[0], n[1], n[2], n[3]);
    let mut list = vec![first];
    for _ in 0..times as usize {
        list.extend([low, high]);
    }
    list
}

/// Groups of an analysis of variance set of the NIST StRD file.
pub fn groups(name: &str) -> Vec<Vec<f64>> {
    let sets = nist();
    let set = sets["anova"][name].as_object().unwrap_or_else(|| panic!("no set {name}"));
    set.values().map(|group| group.as_array().expect("a group is a list").iter().map(decimal).collect()).collect()
}

fn nist() -> serde_json::Value {
    serde_json::from_str(include_str!("../data/nist-sets.json")).expect("the NIST sets are JSON")
}

fn decimal(value: &serde_json::Value) -> f64 {
    value.as_str().and_then(|t| t.parse().ok()).expect("NIST values are decimal text")
}
