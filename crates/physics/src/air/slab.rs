//! Walls as layers of material: what ITU-R P.2040 says that a flat slab lets through.

use crate::copper::Decibels;
use narrows_units::quantity::{Frequency, Length, metres, units};
use std::ops::{Add, Div, Mul, Sub};

/// The speed of light, m/s, and the impedance of free space, ohm.
const LIGHT: f64 = 299_792_458.0;
const FREE: f64 = 376.730313;

/// A material: relative permittivity `a` and conductivity `c f^d` S/m, `f` in GHz.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Material {
    /// Relative permittivity.
    pub a: f64,
    /// Conductivity at 1 GHz.
    pub c: f64,
    /// How it grows with the frequency.
    pub d: f64,
}

/// Materials of ITU-R P.2040-3 table 3; 1 to 10 GHz is inside the range of each but metal's.
pub fn material(name: &str) -> Option<Material> {
    let (a, c, d) = match name {
        "air" => (1.0, 0.0, 0.0),
        "concrete" => (5.24, 0.0462, 0.7822),
        "brick" => (3.91, 0.0238, 0.16),
        "plasterboard" => (2.73, 0.0085, 0.9395),
        "wood" => (1.99, 0.0047, 1.0718),
        "glass" => (6.31, 0.0036, 1.3394),
        "chipboard" => (2.58, 0.0217, 0.78),
        "marble" => (7.074, 0.0055, 0.9262),
        "plywood" => (2.71, 0.33, 0.0),
        "ceiling board" => (1.48, 0.0011, 1.075),
        "metal" => (1.0, 1e7, 0.0),
        _ => return None,
    };
    Some(Material { a, c, d })
}

/// Which way the electric field points on a slab that is met at an angle.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Polarisation {
    /// Along the slab.
    AlongIt,
    /// In the plane of the way.
    AcrossIt,
}

#[derive(Clone, Copy, Debug, PartialEq)]
struct Complex(f64, f64);

impl Complex {
    const ONE: Self = Self(1.0, 0.0);

    fn size(self) -> f64 {
        libm::hypot(self.0, self.1)
    }

    fn root(self) -> Self {
        let size = self.size();
        let real = libm::sqrt(libm::fmax(f64::midpoint(size, self.0), 0.0));
        let imaginary = libm::sqrt(libm::fmax(f64::midpoint(size, -self.0), 0.0));
        Self(real, libm::copysign(imaginary, self.1))
    }

    fn exp(self) -> Self {
        let size = libm::exp(self.0);
        Self(size * libm::cos(self.1), size * libm::sin(self.1))
    }

    fn times(self, factor: f64) -> Self {
        Self(self.0 * factor, self.1 * factor)
    }
}

impl Add for Complex {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self(self.0 + other.0, self.1 + other.1)
    }
}

impl Sub for Complex {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self(self.0 - other.0, self.1 - other.1)
    }
}

impl Mul for Complex {
    type Output = Self;
    fn mul(self, other: Self) -> Self {
        Self(
            self.0 * other.0 - self.1 * other.1,
            self.0 * other.1 + self.1 * other.0,
        )
    }
}

impl Div for Complex {
    type Output = Self;
    fn div(self, other: Self) -> Self {
        let size = other.0 * other.0 + other.1 * other.1;
        let up = self * Self(other.0, -other.1);
        Self(up.0 / size, up.1 / size)
    }
}

fn gigahertz(frequency: Frequency) -> f64 {
    frequency.get::<units::frequency::gigahertz>()
}

/// Complex relative permittivity, `eta = a - j 17.98 sigma / f`.
fn permittivity(material: Material, frequency: Frequency) -> Complex {
    let f = gigahertz(frequency);
    let sigma = material.c * libm::pow(f, material.d);
    Complex(material.a, -17.98 * sigma / f)
}

/// What a slab keeps of a wave.
///
/// `root = sqrt(eta - sin^2 th)`, `R` of the surface, `q = 2 pi D root / lambda`,
/// `T = (1 - R^2) e^(-jq) / (1 - R^2 e^(-2jq))`, loss `-20 log10 |T|`. `D` the thickness, `th` from
/// the normal in radians. A flat slab of one dry material, far from its edges; real concrete is
/// measured at 1 to 3.8 times this in dB. Source: ITU-R P.2040-3 sections 2.1 and 2.2.
/// `validate_slabs` checks it.
pub fn slab(
    material: Material,
    thickness: Length,
    frequency: Frequency,
    angle: f64,
    polarisation: Polarisation,
) -> Decibels {
    let eta = permittivity(material, frequency);
    let (sine, cosine) = (libm::sin(angle), Complex(libm::cos(angle), 0.0));
    let root = (eta - Complex(sine * sine, 0.0)).root();
    let (left, right) = match polarisation {
        Polarisation::AlongIt => (cosine, root),
        Polarisation::AcrossIt => (eta * cosine, root),
    };
    let reflected = (left - right) / (left + right);
    let waves = thickness.get::<units::length::meter>() * gigahertz(frequency) * 1e9 / LIGHT;
    let q = root.times(2.0 * std::f64::consts::PI * waves);
    // e^(-jq)
    let turned = Complex(q.1, -q.0).exp();
    let square = reflected * reflected;
    let passed = (Complex::ONE - square) * turned / (Complex::ONE - square * turned * turned);
    Decibels(-20.0 * libm::log10(passed.size()))
}

/// One layer of a wall.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Layer {
    /// A material and its thickness.
    Solid(Material, Length),
    /// A thin conducting film, by its ohms a square.
    Film(f64),
}

/// What a wall of layers keeps of a wave that meets it straight on.
///
/// Each layer a matrix `A = D = cos kx`, `B = j Z sin kx`, `C = j sin kx / Z`; a film `1, 0, 1/R,
/// 1`; loss `-20 log10 |2 / (A + B/Z0 + C Z0 + D)|`. One layer agrees with [`slab`].
/// Source: ITU-R P.2040-3 section 2.2.2. `validate_layered_walls` checks it.
pub fn layers(wall: &[Layer], frequency: Frequency) -> Decibels {
    let zero = Complex(0.0, 0.0);
    let mut all = [Complex::ONE, zero, zero, Complex::ONE];
    for layer in wall {
        let [a, b, c, d] = match *layer {
            Layer::Film(ohms) => [Complex::ONE, zero, Complex(1.0 / ohms, 0.0), Complex::ONE],
            Layer::Solid(material, thickness) => {
                let n = permittivity(material, frequency).root();
                let waves =
                    thickness.get::<units::length::meter>() * gigahertz(frequency) * 1e9 / LIGHT;
                let kx = n.times(2.0 * std::f64::consts::PI * waves);
                let (plus, minus) = (Complex(-kx.1, kx.0).exp(), Complex(kx.1, -kx.0).exp());
                let cosine = (plus + minus).times(0.5);
                // j sin kx
                let sine = (plus - minus).times(0.5);
                let z = Complex(FREE, 0.0) / n;
                [cosine, z * sine, sine / z, cosine]
            }
        };
        all = [
            all[0] * a + all[1] * c,
            all[0] * b + all[1] * d,
            all[2] * a + all[3] * c,
            all[2] * b + all[3] * d,
        ];
    }
    let sum = all[0] + all[1].times(1.0 / FREE) + all[2].times(FREE) + all[3];
    Decibels(20.0 * libm::log10(sum.size() / 2.0))
}

/// The row of the catalogue that stands for a wall of a material and a thickness, and how many
/// of that row's wall it is worth at 5.5 GHz, by [`slab`].
///
/// Of concrete and brick, whose rows are those of common thicknesses; the nearest is taken and
/// scaled, so that what was measured beyond the slab stays in. None of other materials.
/// `verify_walls_by_thickness` checks it.
pub fn thickness(name: &str, thick: Length) -> Option<(&'static str, f64)> {
    let rows: &[(&'static str, f64)] = match name {
        "concrete" => &[
            ("concrete-10", 0.1),
            ("concrete-20", 0.2),
            ("concrete-30", 0.3),
        ],
        "brick" => &[
            ("half-brick", 0.102),
            ("brick", 0.215),
            ("thick-brick", 0.327),
        ],
        _ => return None,
    };
    let metre = thick.get::<units::length::meter>();
    if !(0.02..=1.5).contains(&metre) {
        return None;
    }
    let off = |of: f64| (of - metre).abs();
    let &(row, usual) = rows.iter().min_by(|a, b| off(a.1).total_cmp(&off(b.1)))?;
    let material = material(name)?;
    let frequency = crate::copper::megahertz(5500.0);
    let of = |d| slab(material, metres(d), frequency, 0.0, Polarisation::AlongIt).0;
    Some((row, of(metre) / of(usual)))
}
