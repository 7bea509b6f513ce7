use super::*;
use crate::quantity::units::data_rate::megabit_per_second;
use approx::assert_relative_eq;

const RATES: [&str; 5] = ["23.976", "25", "29.97", "50", "59.94"];

/// Printed targets of the `ProRes` family: name, then 1920x1080 and 3840x2160 by frame rate, in Mb/s.
const PRORES: [(&str, [f64; 5], [f64; 5]); 6] = [
    (
        "ProRes 422 Proxy",
        [36.0, 38.0, 45.0, 76.0, 91.0],
        [145.0, 151.0, 182.0, 303.0, 363.0],
    ),
    (
        "ProRes 422 LT",
        [82.0, 85.0, 102.0, 170.0, 204.0],
        [328.0, 342.0, 410.0, 684.0, 821.0],
    ),
    (
        "ProRes 422",
        [117.0, 122.0, 147.0, 245.0, 293.0],
        [471.0, 492.0, 589.0, 983.0, 1178.0],
    ),
    (
        "ProRes 422 HQ",
        [176.0, 184.0, 220.0, 367.0, 440.0],
        [707.0, 737.0, 884.0, 1475.0, 1768.0],
    ),
    (
        "ProRes 4444",
        [264.0, 275.0, 330.0, 551.0, 660.0],
        [1061.0, 1106.0, 1326.0, 2212.0, 2652.0],
    ),
    (
        "ProRes 4444 XQ",
        [396.0, 413.0, 495.0, 826.0, 990.0],
        [1591.0, 1659.0, 1989.0, 3318.0, 3977.0],
    ),
];

/// How far the rule in bits a pixel lies from printed targets that are whole megabits, at UHD and
/// above, and at 1920x1080: relative, beside half a megabit of rounding.
const RULE_ABOVE: f64 = 0.0042;
const RULE_AT_HD: f64 = 0.005;

fn catalogue() -> Catalogue {
    Catalogue::embedded().unwrap()
}

fn asked(name: &str, raster: &str, frames: &str) -> Result<CodecRate, CodecFault> {
    let catalogue = catalogue();
    let raster = Raster::parse(raster, &catalogue).unwrap();
    let frames = FrameRate::parse(&format!("{frames} fps")).unwrap();
    look_up(&catalogue, name, raster, frames)
}

fn megabits(rate: &CodecRate) -> f64 {
    rate.rate.median().get::<megabit_per_second>()
}

#[test]
fn validate_printed_targets() {
    for (name, hd, uhd) in PRORES {
        for (raster, row) in [("HD", hd), ("UHD", uhd)] {
            for (frames, expected) in RATES.into_iter().zip(row) {
                let found = asked(name, raster, frames).unwrap();
                assert_relative_eq!(megabits(&found), expected, max_relative = 1e-12);
                assert_eq!(found.basis, Basis::Printed);
                assert!(found.rate.is_exact());
            }
        }
    }
    for (name, raster, frames, expected) in [
        ("ProRes 422 HQ", "4K", "23.976", 754.0),
        ("ProRes 422 HQ", "4K", "59.94", 1885.0),
        ("ProRes 4444 XQ", "8K", "23.976", 6788.0),
        ("dnxhd 220x", "HD", "50", 367.0),
        ("DNxHD 145", "HD", "59.94", 291.0),
        ("H.264 long GOP 4:2:2 10-bit", "UHD", "25", 150.0),
        ("h.264 all-i", "UHD", "59.94", 800.0),
        ("HEVC long GOP 4:2:2 10-bit", "UHD", "29.97", 140.0),
        ("MPEG-2 HD 4:2:2", "HD", "25", 50.0),
        ("JPEG 2000 cinema", "4K", "24", 250.0),
    ] {
        let found = asked(name, raster, frames).unwrap();
        assert_relative_eq!(megabits(&found), expected, max_relative = 1e-12);
        assert_eq!(found.basis, Basis::Printed, "{name}");
    }
    let camera = asked("H.264", "UHD", "25").unwrap();
    let (low, _, high) = camera.rate.law().knots();
    assert_relative_eq!(low * 8e-6, 60.0, max_relative = 1e-12);
    assert_relative_eq!(high * 8e-6, 100.0, max_relative = 1e-12);
}

#[test]
fn validate_bits_per_pixel_of_targets() {
    let catalogue = catalogue();
    let above = [
        (
            "8K",
            "23.976",
            [622.0, 1400.0, 2011.0, 3017.0, 4525.0, 6788.0],
        ),
        (
            "4K",
            "23.976",
            [f64::NAN, f64::NAN, f64::NAN, 754.0, f64::NAN, f64::NAN],
        ),
        (
            "4K",
            "59.94",
            [f64::NAN, f64::NAN, f64::NAN, 1885.0, f64::NAN, f64::NAN],
        ),
    ];
    let mut checked = 0;
    for (place, (name, hd, uhd)) in PRORES.iter().enumerate() {
        let bits = by_name(&catalogue, name).unwrap().number[1];
        let mut check = |raster: &str, frames: &str, printed: f64, within: f64| {
            if printed.is_nan() {
                return;
            }
            let raster = Raster::parse(raster, &catalogue).unwrap();
            let frames = FrameRate::parse(&format!("{frames} fps")).unwrap();
            let rate = rate_of_frames(frame_at_bits(bits, raster), frames);
            let off = (rate.get::<megabit_per_second>() - printed).abs();
            // targets are printed as whole megabits
            assert!(
                off <= within * printed + 0.5,
                "{name} {raster} {frames}: {off}"
            );
            checked += 1;
        };
        for (i, frames) in RATES.into_iter().enumerate() {
            check("UHD", frames, uhd[i], RULE_ABOVE);
            check("HD", frames, hd[i], RULE_AT_HD);
        }
        for (raster, frames, row) in above {
            check(raster, frames, row[place], RULE_ABOVE);
        }
    }
    assert_eq!(checked, 68);
}

#[test]
fn validate_rules_of_the_other_codecs() {
    for (name, raster, frames, expected) in [
        ("DNxHR HQX", "UHD", "25", 728.269),
        ("DNxHR LB", "UHD", "59.94", 359.433),
        ("DNxHR 444", "UHD", "23.976", 1397.66),
        ("XAVC Intra class 300", "UHD", "25", 250.061),
        ("v210", "HD", "29.97", 1325.78),
        ("DPX", "4K", "25", 7078.30),
        ("EXR", "4K", "50", 21247.6),
        ("raw 12-bit 5:1", "6K", "24", 1223.06),
        ("raw 12-bit 8:1", "8K", "24", 1274.02),
    ] {
        let found = asked(name, raster, frames).unwrap();
        assert_relative_eq!(megabits(&found), expected, max_relative = 5e-6);
        assert_eq!(found.basis, Basis::Rule);
        assert!(
            found.because().starts_with("calculated"),
            "{}",
            found.because()
        );
    }
    // many pictures at once: nine angles of proxies, twelve of HD, four of UHD
    for (name, raster, frames, angles, expected) in [
        ("ProRes Proxy", "UHD", "29.97", 9.0, 1638.0),
        ("ProRes 422", "HD", "25", 12.0, 1464.0),
        ("ProRes HQ", "UHD", "23.976", 4.0, 2828.0),
    ] {
        let one = megabits(&asked(name, raster, frames).unwrap());
        assert_relative_eq!(one * angles, expected, max_relative = 1e-12);
    }
    // and how much smaller proxies are
    let full = megabits(&asked("ProRes 422 HQ", "UHD", "23.976").unwrap());
    let proxy = megabits(&asked("ProRes 422 Proxy", "HD", "23.976").unwrap());
    assert!((full / proxy - 19.6).abs() < 0.05);
}

#[test]
fn verify_a_rate_that_is_not_in_print_says_so() {
    let film = asked("ProRes 422 HQ", "HD", "24").unwrap();
    assert_eq!(film.basis, Basis::Rule);
    assert!((megabits(&film) - 177.0).abs() < 1.0);
    let near = asked("H.264 All-I", "UHD", "24").unwrap();
    assert_eq!(near.basis, Basis::NearestPrinted(FrameRate::over_1001(24)));
    assert!(near.because().contains("as published for 23.976 fps"));
    // constant quality has no one rate
    let quality = asked("CineForm", "UHD", "25").unwrap();
    assert!(!quality.rate.is_exact());
    assert_eq!(quality.steadiness, Steadiness::Quality);
    assert!(asked("DPX", "2K", "25").unwrap().is_sequence);
}

#[test]
fn names_that_are_not_known_bring_the_nearest() {
    let fault = asked("ProRes 422 QH", "UHD", "25").unwrap_err();
    assert!(
        fault.to_string().contains("did you mean 'ProRes 422 HQ'"),
        "{fault}"
    );
    let fault = asked("celluloid", "UHD", "25").unwrap_err();
    assert!(matches!(&fault, CodecFault::Unknown { nearest: None, known, .. } if known.len() > 20));
    let fault = asked("XAVC-I", "HD", "25").unwrap_err();
    assert!(matches!(fault, CodecFault::Raster { .. }), "{fault}");
    let fault = asked("DNxHD 145", "UHD", "25").unwrap_err();
    assert!(
        fault
            .to_string()
            .contains("1920x1080 and not for 3840x2160"),
        "{fault}"
    );
    let fault = asked("DNxHD 145", "HD", "120").unwrap_err();
    assert!(
        fault.to_string().contains("59.94 fps and not for 120 fps"),
        "{fault}"
    );
}

#[test]
fn every_codec_and_every_printed_rate_can_be_looked_up() {
    let catalogue = catalogue();
    let mut rates = 0;
    for number in catalogue.numbers() {
        let Some(rest) = number.id.strip_prefix("codec.") else {
            continue;
        };
        let Some((codec, place)) = rest.split_once('.') else {
            continue;
        };
        let Some((raster, frames)) = place.split_once('.') else {
            continue;
        };
        let found = asked(codec, raster, frames).unwrap();
        assert_eq!(found.basis, Basis::Printed, "{}", number.id);
        rates += 1;
    }
    assert!(rates > 100, "{rates}");
    let mut names = Vec::new();
    for row in catalogue.codecs() {
        assert!(Rule::of(&row.rule).is_some(), "{}", row.codec);
        assert!(
            row.source.len() > 4 && !row.note.is_empty(),
            "{}",
            row.codec
        );
        for name in &row.names {
            assert_eq!(by_name(&catalogue, name).unwrap().codec, row.codec);
            names.push(letters(name));
        }
    }
    names.sort_unstable();
    let all = names.len();
    names.dedup();
    assert_eq!(names.len(), all, "a name stands for two codecs");
    for steadiness in Steadiness::ALL {
        let peak = steadiness.peak_over_mean(&catalogue).unwrap();
        assert!(peak.median() >= 1.0);
        assert!(steadiness.mean_over_printed(&catalogue).unwrap().median() <= 1.0);
    }
}
