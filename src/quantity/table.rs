//! The closed list: every quantity with its units, canonical spelling first, ASCII and UCUM aliases, exact factors.
//!
//! Factors are exact by definition (international yard and pound of 1959: inch 25.4 mm, pound 0.45359237 kg;
//! standard gravity 9.80665 m/s², 3rd CGPM 1901). A value in SI is `number * times / over + plus`.

/// One unit of one quantity.
#[derive(Debug, Clone, Copy)]
pub struct Unit {
    /// Canonical spelling.
    pub symbol: &'static str,
    /// Other spellings accepted on input.
    pub aliases: &'static [&'static str],
    /// UCUM code for exports.
    pub ucum: &'static str,
    times: f64,
    over: f64,
    plus: f64,
}

impl Unit {
    /// The value in base SI of a number in this unit.
    pub fn si_from_number(&self, number: f64) -> f64 {
        // One rounding where one of the factors is 1, so that 12.5 µm is the double nearest to 12.5e-6.
        let scaled = if self.over == 1.0 { number * self.times } else { number * self.times / self.over };
        scaled + self.plus
    }
    /// The number in this unit of a value in base SI.
    pub fn number_from_si(&self, si: f64) -> f64 {
        let raw = (si - self.plus) * self.over / self.times;
        // Undo the last bits of the round trip where a shorter decimal means the same SI value.
        let short: f64 = format!("{raw:.12e}").parse().unwrap_or(raw);
        if self.si_from_number(short) == si { short } else { raw }
    }
    /// Size of the unit in SI (offset units: the size of one degree).
    pub fn size(&self) -> f64 {
        self.times / self.over
    }
}

const fn unit(symbol: &'static str, aliases: &'static [&'static str], ucum: &'static str, times: f64, over: f64) -> Unit {
    Unit { symbol, aliases, ucum, times, over, plus: 0.0 }
}

const fn offset(
    symbol: &'static str,
    aliases: &'static [&'static str],
    ucum: &'static str,
    times: f64,
    over: f64,
    plus: f64,
) -> Unit {
    Unit { symbol, aliases, ucum, times, over, plus }
}

macro_rules! quantities {
    ($($variant:ident $word:literal $title:literal [$($unit:expr),* $(,)?];)*) => {
        /// A measurable quantity: dimension and kind.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, serde::Serialize, serde::Deserialize)]
        pub enum Quantity { $(#[doc = $title] $variant),* }
        /// Every quantity, in the order of the table.
        pub const ALL: &[Quantity] = &[$(Quantity::$variant),*];
        impl Quantity {
            /// The word used in schemas.
            pub fn word(self) -> &'static str { match self { $(Quantity::$variant => $word),* } }
            /// What it is, for messages: "a stress or strength".
            pub fn title(self) -> &'static str { match self { $(Quantity::$variant => $title),* } }
            /// Its units, the canonical one first.
            pub fn units(self) -> &'static [Unit] {
                match self { $(Quantity::$variant => { const U: &[Unit] = &[$($unit),*]; U }),* }
            }
        }
    };
}

const LB: f64 = 0.45359237;
const LBF: f64 = 0.45359237 * 9.80665;
const INCH: f64 = 0.0254;
const G: f64 = 9.80665;

quantities! {
    Length "length" "a length" [
        unit("mm", &[], "mm", 1.0, 1e3),
        unit("µm", &["um", "micron"], "um", 1.0, 1e6),
        unit("nm", &[], "nm", 1.0, 1e9),
        unit("cm", &[], "cm", 1.0, 1e2),
        unit("m", &[], "m", 1.0, 1.0),
        unit("in", &["inch", "[in_i]"], "[in_i]", INCH, 1.0),
        unit("thou", &["mil", "[mil_i]"], "[mil_i]", 0.0254, 1e3),
    ];
    Area "area" "an area" [
        unit("mm²", &["mm2", "mm^2"], "mm2", 1.0, 1e6),
        unit("cm²", &["cm2", "cm^2"], "cm2", 1.0, 1e4),
        unit("m²", &["m2", "m^2"], "m2", 1.0, 1.0),
        unit("in²", &["in2", "in^2", "[sin_i]"], "[sin_i]", INCH * INCH, 1.0),
    ];
    Volume "volume" "a volume" [
        unit("mm³", &["mm3", "mm^3"], "mm3", 1.0, 1e9),
        unit("cm³", &["cm3", "cm^3"], "cm3", 1.0, 1e6),
        unit("mL", &["ml"], "mL", 1.0, 1e6),
        unit("L", &["l"], "L", 1.0, 1e3),
        unit("m³", &["m3", "m^3"], "m3", 1.0, 1.0),
    ];
    Mass "mass" "a mass" [
        unit("g", &[], "g", 1.0, 1e3),
        unit("mg", &[], "mg", 1.0, 1e6),
        unit("kg", &[], "kg", 1.0, 1.0),
        unit("lb", &["[lb_av]"], "[lb_av]", LB, 1.0),
        unit("oz", &["[oz_av]"], "[oz_av]", LB, 16.0),
    ];
    Duration "duration" "a duration" [
        unit("s", &["sec"], "s", 1.0, 1.0),
        unit("ms", &[], "ms", 1.0, 1e3),
        unit("min", &[], "min", 60.0, 1.0),
        unit("h", &["hour", "hours"], "h", 3600.0, 1.0),
        unit("d", &["day", "days"], "d", 86400.0, 1.0),
        unit("month", &["months", "mo", "mo_g"], "mo_g", 2_629_746.0, 1.0),
        unit("year", &["years", "a", "a_g"], "a_g", 31_556_952.0, 1.0),
    ];
    Temperature "temperature" "a temperature" [
        offset("°C", &["degC", "Cel", "ºC"], "Cel", 1.0, 1.0, 273.15),
        unit("K", &[], "K", 1.0, 1.0),
        offset("°F", &["degF", "[degF]"], "[degF]", 5.0, 9.0, 459.67 * 5.0 / 9.0),
    ];
    TemperatureDifference "temperature_difference" "a temperature difference" [
        unit("K", &[], "K", 1.0, 1.0),
        unit("°C", &["degC", "Cel", "ºC"], "Cel", 1.0, 1.0),
        unit("°F", &["degF", "[degF]"], "[degF]", 5.0, 9.0),
    ];
    Force "force" "a force or load" [
        unit("N", &["newton", "newtons"], "N", 1.0, 1.0),
        unit("kN", &[], "kN", 1e3, 1.0),
        unit("mN", &[], "mN", 1.0, 1e3),
        unit("kgf", &["kp"], "kgf", G, 1.0),
        unit("lbf", &["[lbf_av]"], "[lbf_av]", LBF, 1.0),
        unit("daN", &[], "daN", 10.0, 1.0),
    ];
    Stress "stress" "a stress or strength" [
        unit("MPa", &["N/mm²", "N/mm2", "N/mm^2"], "MPa", 1e6, 1.0),
        unit("GPa", &["kN/mm²", "kN/mm2"], "GPa", 1e9, 1.0),
        unit("kPa", &[], "kPa", 1e3, 1.0),
        unit("Pa", &["N/m²", "N/m2"], "Pa", 1.0, 1.0),
        unit("bar", &[], "bar", 1e5, 1.0),
        unit("mmHg", &["mm[Hg]"], "mm[Hg]", 133.322_387_415, 1.0),
        unit("kgf/mm²", &["kgf/mm2", "kgf/mm^2"], "kgf/mm2", G * 1e6, 1.0),
        unit("kgf/cm²", &["kgf/cm2", "kgf/cm^2"], "kgf/cm2", G * 1e4, 1.0),
        unit("psi", &["lb/in2", "lbf/in²", "lbf/in2", "[psi]"], "[psi]", LBF, INCH * INCH),
        unit("ksi", &["kpsi", "k[psi]"], "k[psi]", LBF * 1e3, INCH * INCH),
        unit("Mpsi", &["M[psi]"], "M[psi]", LBF * 1e6, INCH * INCH),
    ];
    Energy "energy" "an energy" [
        unit("J", &[], "J", 1.0, 1.0),
        unit("mJ", &[], "mJ", 1.0, 1e3),
        unit("kJ", &[], "kJ", 1e3, 1.0),
        unit("N·mm", &["N.mm", "N*mm", "Nmm"], "N.mm", 1.0, 1e3),
        unit("ft·lbf", &["ft.lbf", "ft*lbf", "ft lbf", "[ft_i].[lbf_av]"], "[ft_i].[lbf_av]", LBF * 0.3048, 1.0),
    ];
    Torque "torque" "a torque" [
        unit("N·m", &["N.m", "N*m", "Nm"], "N.m", 1.0, 1.0),
        unit("N·mm", &["N.mm", "N*mm", "Nmm"], "N.mm", 1.0, 1e3),
        unit("N·cm", &["N.cm", "N*cm", "Ncm"], "N.cm", 1.0, 1e2),
        unit("kgf·cm", &["kgf.cm", "kgf*cm"], "kgf.cm", G, 1e2),
        unit("lbf·in", &["lbf.in", "lbf*in", "in·lbf", "in.lbf", "[lbf_av].[in_i]"], "[lbf_av].[in_i]", LBF * INCH, 1.0),
        unit("lbf·ft", &["lbf.ft", "lbf*ft", "[lbf_av].[ft_i]"], "[lbf_av].[ft_i]", LBF * 0.3048, 1.0),
    ];
    Fraction "fraction" "a fraction" [
        unit("%", &[], "%", 1.0, 1e2),
        unit("1", &[""], "1", 1.0, 1.0),
        unit("ppm", &["[ppm]"], "[ppm]", 1.0, 1e6),
    ];
    Number "number" "a plain number" [
        unit("1", &[""], "1", 1.0, 1.0),
    ];
    Density "density" "a density" [
        unit("kg/m³", &["kg/m3", "kg/m^3"], "kg/m3", 1.0, 1.0),
        unit("g/cm³", &["g/cm3", "g/cm^3", "g/mL"], "g/cm3", 1e3, 1.0),
        unit("lb/in³", &["lb/in3", "lb/in^3", "[lb_av]/[cin_i]"], "[lb_av]/[cin_i]", LB, INCH * INCH * INCH),
        unit("lb/ft³", &["lb/ft3", "lb/ft^3", "[lb_av]/[cft_i]"], "[lb_av]/[cft_i]", LB, 0.3048 * 0.3048 * 0.3048),
    ];
    Expansion "expansion" "a thermal expansion coefficient" [
        unit("µm/(m·K)", &["um/(m.K)", "um/(m*K)", "um/m/K", "µm/m/K", "ppm/K"], "um/(m.K)", 1.0, 1e6),
        unit("1/K", &["/K", "K^-1"], "K-1", 1.0, 1.0),
        unit("1/°C", &["1/degC"], "Cel-1", 1.0, 1.0),
        unit("1/°F", &["1/degF"], "[degF]-1", 9.0, 5.0),
    ];
    SurfaceEnergy "surface_energy" "a surface energy or surface tension" [
        unit("mJ/m²", &["mJ/m2", "mJ/m^2"], "mJ/m2", 1.0, 1e3),
        unit("mN/m", &["dyn/cm"], "mN/m", 1.0, 1e3),
        unit("N/m", &[], "N/m", 1.0, 1.0),
    ];
    Viscosity "viscosity" "a viscosity" [
        unit("mPa·s", &["mPa.s", "mPa*s", "cP"], "mPa.s", 1.0, 1e3),
        unit("Pa·s", &["Pa.s", "Pa*s"], "Pa.s", 1.0, 1.0),
    ];
    Toughness "toughness" "a fracture toughness" [
        unit("MPa·√m", &["MPa.m^0.5", "MPa*m^0.5", "MPa.m0.5", "MPa√m", "MPa·m^0.5"], "MPa.m0.5", 1e6, 1.0),
        unit("ksi·√in", &["ksi.in^0.5", "ksi*in^0.5"], "k[psi].[in_i]0.5", 1.098_843_494_108_753e6, 1.0),
    ];
    Dose "dose" "a light dose" [
        unit("mJ/cm²", &["mJ/cm2", "mJ/cm^2"], "mJ/cm2", 10.0, 1.0),
        unit("J/cm²", &["J/cm2", "J/cm^2"], "J/cm2", 1e4, 1.0),
        unit("J/m²", &["J/m2"], "J/m2", 1.0, 1.0),
    ];
    Irradiance "irradiance" "an irradiance" [
        unit("mW/cm²", &["mW/cm2", "mW/cm^2"], "mW/cm2", 10.0, 1.0),
        unit("W/m²", &["W/m2"], "W/m2", 1.0, 1.0),
    ];
    EnergyPerArea "energy_per_area" "an energy per area" [
        unit("kJ/m²", &["kJ/m2", "kJ/m^2"], "kJ/m2", 1e3, 1.0),
        unit("J/m²", &["J/m2", "J/m^2"], "J/m2", 1.0, 1.0),
        unit("ft·lbf/in²", &["ft.lbf/in2", "[ft_i].[lbf_av]/[sin_i]"], "[ft_i].[lbf_av]/[sin_i]", LBF * 0.3048, INCH * INCH),
    ];
    EnergyPerLength "energy_per_length" "an energy per width" [
        unit("J/m", &[], "J/m", 1.0, 1.0),
        unit("ft·lbf/in", &["ft.lbf/in", "[ft_i].[lbf_av]/[in_i]"], "[ft_i].[lbf_av]/[in_i]", LBF * 0.3048, INCH),
    ];
    LineLoad "line_load" "a load per width" [
        unit("N/mm", &[], "N/mm", 1e3, 1.0),
        unit("kN/m", &[], "kN/m", 1e3, 1.0),
        unit("N/m", &[], "N/m", 1.0, 1.0),
        unit("lbf/in", &["[lbf_av]/[in_i]"], "[lbf_av]/[in_i]", LBF, INCH),
    ];
    Stiffness "stiffness" "a stiffness" [
        unit("N/mm", &[], "N/mm", 1e3, 1.0),
        unit("kN/mm", &[], "kN/mm", 1e6, 1.0),
        unit("N/m", &[], "N/m", 1.0, 1.0),
    ];
    Compliance "compliance" "a compliance" [
        unit("µm/N", &["um/N"], "um/N", 1.0, 1e6),
        unit("mm/kN", &[], "mm/kN", 1.0, 1e6),
        unit("mm/N", &[], "mm/N", 1.0, 1e3),
    ];
    Conductivity "conductivity" "a thermal conductivity" [
        unit("W/(m·K)", &["W/(m.K)", "W/(m*K)", "W/m/K"], "W/(m.K)", 1.0, 1.0),
    ];
    Speed "speed" "a speed" [
        unit("mm/min", &[], "mm/min", 1.0, 60e3),
        unit("mm/s", &[], "mm/s", 1.0, 1e3),
        unit("m/s", &[], "m/s", 1.0, 1.0),
        unit("in/min", &["[in_i]/min"], "[in_i]/min", INCH, 60.0),
    ];
    Angle "angle" "an angle" [
        unit("°", &["deg"], "deg", std::f64::consts::PI, 180.0),
        unit("rad", &[], "rad", 1.0, 1.0),
    ];
    Frequency "frequency" "a frequency" [
        unit("Hz", &[], "Hz", 1.0, 1.0),
        unit("kHz", &[], "kHz", 1e3, 1.0),
        unit("1/min", &["rpm"], "/min", 1.0, 60.0),
    ];
    Concentration "concentration" "a mass concentration" [
        unit("µg/mm³", &["ug/mm3", "µg/mm3", "ug/mm^3"], "ug/mm3", 1.0, 1.0),
        unit("mg/m³", &["mg/m3"], "mg/m3", 1.0, 1e6),
        unit("g/L", &["g/l"], "g/L", 1.0, 1.0),
    ];
}

impl Quantity {
    /// The quantity of a schema word.
    pub fn from_word(word: &str) -> Option<Quantity> {
        ALL.iter().copied().find(|q| q.word() == word)
    }
    /// The canonical unit.
    pub fn canonical(self) -> UnitId {
        UnitId { quantity: self, place: 0 }
    }
    /// The unit of this quantity with that spelling (canonical or alias).
    pub fn unit(self, spelling: &str) -> Option<UnitId> {
        let place = self.units().iter().position(|u| u.symbol == spelling || u.aliases.contains(&spelling))?;
        Some(UnitId { quantity: self, place: u8::try_from(place).ok()? })
    }
    /// The quantity of a difference or spread of this one: a spread of temperatures is a temperature difference.
    pub fn spread(self) -> Quantity {
        if self == Quantity::Temperature { Quantity::TemperatureDifference } else { self }
    }
}

/// A unit of the closed table: the quantity and the place in its unit list.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, serde::Serialize, serde::Deserialize)]
#[serde(try_from = "(Quantity, u8)", into = "(Quantity, u8)")]
pub struct UnitId {
    /// The quantity the unit measures.
    pub quantity: Quantity,
    pub(crate) place: u8,
}

impl From<UnitId> for (Quantity, u8) {
    fn from(unit: UnitId) -> Self {
        (unit.quantity, unit.place)
    }
}

impl TryFrom<(Quantity, u8)> for UnitId {
    type Error = &'static str;

    fn try_from((quantity, place): (Quantity, u8)) -> Result<Self, Self::Error> {
        let known = usize::from(place) < quantity.units().len();
        known.then_some(UnitId { quantity, place }).ok_or("no such unit of this quantity")
    }
}

impl UnitId {
    /// The unit's row in the table: symbol, aliases, UCUM code, factor.
    pub fn unit(self) -> &'static Unit {
        &self.quantity.units()[usize::from(self.place)]
    }
    /// The canonical spelling, e.g. `MPa`.
    pub fn symbol(self) -> &'static str {
        self.unit().symbol
    }
}
