use super::units::{data_rate, information};
use super::*;
use proptest::prelude::*;

/// Half a unit of the last of three shown digits, relative to the smallest such number.
const SHOWN_DIGITS: f64 = 0.005;

fn rate(text: &str) -> Result<f64, UnitFault> {
    parse::<DataRate>(text).map(in_megabytes_per_second)
}

#[test]
fn validate_units_as_the_trade_writes_them() {
    // 1 MiB = 2^20 B and 1 TiB = 2^40 B: IEC 80000-13
    let cases: [(&str, f64); 12] = [
        ("117 MB/s", 117.0),
        ("117MB/s", 117.0),
        ("112 MiB/s", 117.440512),
        ("880 Mb/s", 110.0),
        ("10 Gb/s", 1250.0),
        ("10 Gbit/s", 1250.0),
        ("10 Gbps", 1250.0),
        ("1.5 GB/s", 1500.0),
        ("1e3 kB/s", 1.0),
        (" 8 b/s ", 1e-6),
        ("400 MBps", 400.0),
        ("2e2 MB/s", 200.0),
    ];
    for (text, expected) in cases {
        let found = rate(text).unwrap_or_else(|e| panic!("{text}: {e}"));
        approx::assert_relative_eq!(found, expected, max_relative = 1e-12);
    }
    let tebibytes = parse::<Information>("12.7 TiB").map(|i| i.get::<information::byte>());
    approx::assert_relative_eq!(
        tebibytes.unwrap(),
        12.7 * 1_099_511_627_776.0,
        max_relative = 1e-12
    );
    let feet = parse::<Length>("100 ft").map(|l| l.get::<units::length::meter>());
    approx::assert_relative_eq!(feet.unwrap(), 30.48, max_relative = 1e-12);
}

#[test]
fn validate_short_forms_only_where_a_link_is_meant() {
    for text in [
        "10 Gb/s",
        "10 Gbps",
        "10GbE",
        "10G",
        "10 gig",
        "10 gbe",
        "10000 meg",
        "10gbps",
    ] {
        let found = parse::<LinkRate>(text).unwrap_or_else(|e| panic!("{text}: {e}"));
        assert_eq!(found, LinkRate::from_megabits(10_000), "{text}");
    }
    assert_eq!(
        parse::<LinkRate>("2.5G").unwrap(),
        LinkRate::from_megabits(2500)
    );
    for text in ["10G", "1 gig", "100 meg"] {
        assert!(rate(text).is_err(), "{text} is no rate of data");
    }
}

#[test]
fn both_readings_are_shown_where_bits_and_bytes_are_unclear() {
    for text in [
        "400 mbs", "400 mb/s", "400 MBPS", "400 mbps", "400 mB/s", "400 MB",
    ] {
        let fault = rate(text).unwrap_err();
        assert!(fault.help.contains("400 MB/s"), "{text}: {fault}");
        if text != "400 MB" {
            assert!(fault.help.contains("400 Mb/s"), "{text}: {fault}");
            assert!(fault.help.contains("50.0 MB/s"), "{text}: {fault}");
        }
    }
}

#[test]
fn what_cannot_be_measured_is_refused() {
    let cases = [
        ("-5 MB/s", "negative"),
        ("NaN MB/s", "not a number"),
        ("inf MB/s", "not a number"),
        ("1e999 MB/s", "too large"),
        ("1e305 GB/s", "too large"),
        ("", "nothing"),
        ("fast", "begin with a number"),
        ("1,000 MB/s", "separator"),
        ("117", "no unit"),
        ("117 furlongs", "not a unit"),
        ("4 ms", "a duration"),
        ("..5 MB/s", "begin with a number"),
    ];
    for (text, word) in cases {
        let fault = rate(text).unwrap_err();
        assert!(fault.found.contains(word), "{text}: {}", fault.found);
        assert!(fault.span.end <= text.len(), "{text}");
    }
    let bytes = parse::<LinkRate>("10 GB/s").unwrap_err();
    assert!(
        bytes.help.contains("10 Gb/s") && bytes.help.contains("80 Gb/s"),
        "{bytes}"
    );
}

#[test]
fn units_change_after_rounding_not_before() {
    assert_eq!(show(bytes(999.4e6)), "999 MB");
    assert_eq!(show(bytes(999.6e6)), "1.00 GB");
    assert_eq!(show(seconds(59.96)), "1.00 min");
    assert_eq!(show(LinkRate::from_megabits(2500)), "2.50 Gb/s");
    assert_eq!(LinkRate::from_megabits(2500).to_string(), "2.5 Gb/s");
    assert_eq!(show(megabytes_per_second(1176.85)), "1180 MB/s");
    assert_eq!(show(megabytes_per_second(11.768)), "11.8 MB/s");
    assert_eq!(three_digits(0.0), "0");
    assert_eq!(three_digits(0.000_123_4), "0.000123");
    assert_eq!(exact(terabytes(10.0)), "10 TB");
}

#[test]
fn money_is_an_integer() {
    assert_eq!(Money::parse("139.90 EUR").unwrap().hundredths, 13_990);
    assert_eq!(Money::parse("140 EUR").unwrap().to_string(), "140 EUR");
    assert_eq!(Money::parse("0.5 EUR").unwrap().to_string(), "0.50 EUR");
    for text in [
        "-1 EUR",
        "1 euro",
        "1.234 EUR",
        "EUR",
        "99999999999999999999 EUR",
        "1",
    ] {
        assert!(Money::parse(text).is_err(), "{text}");
    }
}

fn parses_back<Q: Measure>(value: f64) -> Result<(), TestCaseError> {
    let shown = show(Q::from_base(value));
    let back = parse::<Q>(&shown).map_err(|e| TestCaseError::fail(format!("{shown}: {e}")))?;
    let error = (back.base() - value).abs() / value;
    prop_assert!(
        error <= SHOWN_DIGITS,
        "{value} -> {shown} -> {}",
        back.base()
    );
    prop_assert_eq!(show(back), shown);
    let all = exact(Q::from_base(value));
    let back = parse::<Q>(&all).map_err(|e| TestCaseError::fail(format!("{all}: {e}")))?;
    prop_assert!(
        (back.base() - value).abs() <= 1e-11 * value,
        "{value} -> {all}"
    );
    Ok(())
}

proptest! {
    #[test]
    fn property_shown_values_parse_back(exponent in -2.0f64..14.0) {
        let value = 10f64.powf(exponent);
        parses_back::<DataRate>(value)?;
        parses_back::<Information>(value.max(0.1))?;
        parses_back::<Time>(value * 1e-9)?;
        parses_back::<Length>(value)?;
        parses_back::<Ratio>(value)?;
        parses_back::<Power>(value)?;
        parses_back::<OperationRate>(value)?;
        parses_back::<Frequency>(value)?;
        parses_back::<TimePerInformation>(value * 1e-10)?;
        parses_back::<InformationPerOperation>(value.max(0.1))?;
    }

    #[test]
    fn property_no_text_panics(text in "\\PC{0,24}") {
        for kind in [Kind::DataRate, Kind::LinkRate, Kind::Information, Kind::Time, Kind::Fraction, Kind::Count] {
            if let Err(fault) = parse_base(kind, &text) {
                prop_assert!(text.get(fault.span.clone()).is_some(), "{:?} of {:?}", fault.span, text);
            }
        }
        let _ = Money::parse(&text);
    }

    #[test]
    fn property_number_and_unit_in_any_spacing(value in 0.001f64..1e6, spaces in 0usize..3) {
        let text = format!("{value}{}MB/s", " ".repeat(spaces));
        let found = parse::<DataRate>(&text).unwrap();
        let expected = DataRate::new::<data_rate::megabyte_per_second>(value);
        prop_assert!((found.base() - expected.base()).abs() <= 1e-9 * expected.base());
    }
}
