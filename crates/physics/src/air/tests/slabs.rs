use super::close;
use crate::air::{Layer, Material, Polarisation, layers, material, slab, thickness};
use crate::copper::megahertz;
use narrows_units::quantity::metres;
use proptest::prelude::*;

const AT: [f64; 3] = [2400.0, 5500.0, 6500.0];

fn straight_on(material: Material, millimetres: f64, mhz: f64) -> f64 {
    let thickness = metres(millimetres / 1000.0);
    slab(
        material,
        thickness,
        megahertz(mhz),
        0.0,
        Polarisation::AlongIt,
    )
    .0
}

/// Materials of ITU-R P.2040-1, whose losses are in print too.
fn first_edition(name: &str) -> Material {
    let (a, c, d) = match name {
        "concrete" => (5.31, 0.0326, 0.8095),
        "brick" => (3.75, 0.038, 0.0),
        "plasterboard" => (2.94, 0.0116, 0.7076),
        _ => (6.27, 0.0043, 1.1925),
    };
    Material { a, c, d }
}

/// Losses of slabs at 2.4, 5.5 and 6.5 GHz by two editions of ITU-R P.2040.
#[test]
fn validate_slabs() {
    for (name, thickness, third, first) in [
        (
            "concrete",
            100.0,
            [8.09805, 14.0350, 15.6657],
            Some([6.30015, 10.8299, 11.8804]),
        ),
        (
            "concrete",
            200.0,
            [14.5747, 26.4777, 29.9747],
            Some([10.9987, 19.8469, 22.5184]),
        ),
        (
            "concrete",
            300.0,
            [21.0523, 38.9934, 44.2378],
            Some([15.5250, 29.0627, 33.0558]),
        ),
        (
            "brick",
            102.0,
            [3.29035, 4.04876, 3.71076],
            Some([4.03887, 4.23242, 4.57485]),
        ),
        (
            "brick",
            215.0,
            [5.73349, 6.75677, 6.93571],
            Some([7.90298, 7.87778, 7.66760]),
        ),
        (
            "brick",
            327.0,
            [8.51327, 9.46632, 9.55794],
            Some([11.3856, 11.4299, 11.5091]),
        ),
        (
            "plasterboard",
            12.5,
            [1.07176, 1.00767, 0.758473],
            Some([1.24417, 0.937110, 0.632378]),
        ),
        ("wood", 40.0, [0.612650, 1.45469, 2.04676], None),
        ("wood", 22.0, [0.794084, 0.888229, 1.28715], None),
        (
            "glass",
            6.0,
            [1.90547, 3.28469, 2.84975],
            Some([1.88837, 3.26316, 2.83519]),
        ),
        ("chipboard", 18.0, [1.66540, 1.70212, 2.27512], None),
        ("marble", 200.0, [4.69108, 6.07799, 5.13968], None),
        ("metal", 0.1, [334.104, 467.900, 502.438], None),
    ] {
        for (at, mhz) in AT.into_iter().enumerate() {
            close(
                straight_on(material(name).unwrap(), thickness, mhz),
                third[at],
            );
            if let Some(first) = first {
                close(straight_on(first_edition(name), thickness, mhz), first[at]);
            }
        }
    }
    let slanting = |polarisation| {
        let sixty = std::f64::consts::FRAC_PI_3;
        let concrete = material("concrete").unwrap();
        slab(
            concrete,
            metres(0.2),
            megahertz(5500.0),
            sixty,
            polarisation,
        )
        .0
    };
    close(slanting(Polarisation::AlongIt), 31.2258);
    close(slanting(Polarisation::AcrossIt), 27.1169);
    assert!(material("cheese").is_none());
}

fn solid(name: &str, millimetres: f64) -> Layer {
    Layer::Solid(material(name).unwrap(), metres(millimetres / 1000.0))
}

fn wall(of: &[(&str, f64)]) -> Vec<Layer> {
    of.iter().map(|(name, mm)| solid(name, *mm)).collect()
}

/// Losses of built-up walls, straight on and as the mean power over the band.
#[test]
fn validate_layered_walls() {
    let glazing = |film: Option<f64>| {
        let mut all = vec![solid("glass", 4.0)];
        all.extend(film.map(Layer::Film));
        all.extend([solid("air", 16.0), solid("glass", 4.0)]);
        all
    };
    let stud = |board| {
        wall(&[
            ("plasterboard", board),
            ("air", 75.0),
            ("plasterboard", board),
        ])
    };
    for (wall, expected) in [
        (stud(12.5), [0.798219, 1.06005, 1.69998]),
        (stud(25.0), [3.32799, 3.82765, 3.87885]),
        (glazing(None), [0.172744, 9.28935, 9.16562]),
        (glazing(Some(5.0)), [29.1894, 34.1392, 31.7906]),
        (glazing(Some(15.0)), [20.2413, 25.3971, 23.3645]),
        (
            wall(&[("wood", 22.0), ("air", 200.0), ("plasterboard", 12.5)]),
            [1.19721, 2.06337, 1.96856],
        ),
        (
            wall(&[("brick", 102.0), ("air", 50.0), ("brick", 102.0)]),
            [7.24492, 7.93041, 7.92592],
        ),
    ] {
        for (mhz, expected) in AT.into_iter().zip(expected) {
            close(layers(&wall, megahertz(mhz)).0, expected);
        }
    }
    for (ohms, expected) in [
        (3.0, 36.0948),
        (5.0, 31.7482),
        (10.0, 25.9493),
        (15.0, 22.6437),
        (20.0, 20.3559),
    ] {
        close(layers(&[Layer::Film(ohms)], megahertz(5500.0)).0, expected);
    }
}

proptest! {
    /// One layer is a slab; no wall costs nothing; a film that hardly conducts neither.
    #[test]
    fn layers_agree_with_slabs(mm in 1.0..400.0_f64, mhz in 2400.0..7100.0_f64) {
        for name in ["concrete", "brick", "plasterboard", "wood", "glass", "marble"] {
            let one = layers(&[solid(name, mm)], megahertz(mhz)).0;
            let other = straight_on(material(name).unwrap(), mm, mhz);
            prop_assert!((one - other).abs() < 1e-9 * other.abs().max(1.0));
        }
        let thin = straight_on(material("concrete").unwrap(), 1e-9, mhz);
        prop_assert!(thin.abs() < 1e-6);
        prop_assert!(layers(&[Layer::Film(1e12)], megahertz(mhz)).0.abs() < 1e-6);
    }
}

#[test]
fn verify_walls_by_thickness() {
    let (row, times) = thickness("concrete", metres(0.2)).unwrap();
    assert_eq!(row, "concrete-20");
    close(times, 1.0);
    let (row, times) = thickness("concrete", metres(0.25)).unwrap();
    assert!(
        row == "concrete-20" && times > 1.2 && times < 1.3,
        "{row} {times}"
    );
    let (row, times) = thickness("brick", metres(0.5)).unwrap();
    assert!(row == "thick-brick" && times > 1.2, "{row} {times}");
    assert!(thickness("cheese", metres(0.2)).is_none());
    assert!(thickness("brick", metres(3.0)).is_none());
}
