//! The border to `uom`: which typed quantity measures which row of the table.

use super::Quantity;
use uom::si::f64 as typed;

/// A typed quantity that can cross the border to written text. Values are base SI on both sides.
pub trait Measure: Copy {
    /// The quantity of the table it measures.
    const QUANTITY: Quantity;
    /// From a value in base SI.
    fn from_si(si: f64) -> Self;
    /// The value in base SI.
    fn si(self) -> f64;
}

macro_rules! measures {
    ($($t:ident $module:ident $unit:ident $quantity:ident;)*) => {$(
        impl Measure for typed::$t {
            const QUANTITY: Quantity = Quantity::$quantity;
            fn from_si(si: f64) -> Self { typed::$t::new::<uom::si::$module::$unit>(si) }
            fn si(self) -> f64 { self.get::<uom::si::$module::$unit>() }
        }
    )*};
}

measures! {
    Length length meter Length;
    Area area square_meter Area;
    Volume volume cubic_meter Volume;
    Mass mass kilogram Mass;
    Time time second Duration;
    ThermodynamicTemperature thermodynamic_temperature kelvin Temperature;
    TemperatureInterval temperature_interval kelvin TemperatureDifference;
    Force force newton Force;
    Pressure pressure pascal Stress;
    Energy energy joule Energy;
    Torque torque newton_meter Torque;
    Ratio ratio ratio Fraction;
    MassDensity mass_density kilogram_per_cubic_meter Density;
    TemperatureCoefficient temperature_coefficient per_kelvin Expansion;
    SurfaceTension surface_tension newton_per_meter SurfaceEnergy;
    DynamicViscosity dynamic_viscosity pascal_second Viscosity;
    RadiantExposure radiant_exposure joule_per_square_meter Dose;
    HeatFluxDensity heat_flux_density watt_per_square_meter Irradiance;
    ThermalConductivity thermal_conductivity watt_per_meter_kelvin Conductivity;
    Velocity velocity meter_per_second Speed;
    Angle angle radian Angle;
    Frequency frequency hertz Frequency;
    MassConcentration mass_concentration kilogram_per_cubic_meter Concentration;
}

/// Plane-strain fracture toughness KIc in Pa·√m. Our own type: `uom` has no half powers.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct FractureToughness(f64);

impl Measure for FractureToughness {
    const QUANTITY: Quantity = Quantity::Toughness;
    fn from_si(si: f64) -> Self {
        FractureToughness(si)
    }
    fn si(self) -> f64 {
        self.0
    }
}

/// A force per length of travel in N/m (system stiffness). Our own type: `uom` gives it the dimension of a surface tension only.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct Stiffness(f64);

impl Measure for Stiffness {
    const QUANTITY: Quantity = Quantity::Stiffness;
    fn from_si(si: f64) -> Self {
        Stiffness(si)
    }
    fn si(self) -> f64 {
        self.0
    }
}

/// A travel per force in m/N (compliance of a rig). Our own type: `uom` has none of this dimension.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct Compliance(f64);

impl Measure for Compliance {
    const QUANTITY: Quantity = Quantity::Compliance;
    fn from_si(si: f64) -> Self {
        Compliance(si)
    }
    fn si(self) -> f64 {
        self.0
    }
}
