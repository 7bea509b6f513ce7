//! Work on single pictures: scrubbing, sequences of one file a picture, and reading ahead.

use narrows_units::quantity::{DataRate, Frequency, Information, Ratio, Time, ratio};

/// How many places a second a person can look at while dragging through cold material:
/// `1 / (T + t_pos + F / X)`.
///
/// `T` round trip and `t_pos` positioning of the store in seconds, `F` bytes that one place takes,
/// `X` rate of the path. Assumes that each place waits for the one before and that nothing of it is
/// cached. Source: waits of one thread add. Checked by `validate_places_a_second`.
pub fn places_a_second(
    round_trip: Time,
    positioning: Time,
    place: Information,
    path: DataRate,
) -> Frequency {
    ratio(1.0) / (round_trip + positioning + place / path)
}

/// Bytes that one place of a long-GOP file takes: all `G` pictures of its group, `G r / f`.
///
/// `G` pictures a group, at least one (all-intra has one), `r` rate of the stream, `f` pictures a
/// second. What is decoded is `(G + 1) / 2` in the mean; what is read is the group, since it is
/// read ahead. Source: definition of a closed group of pictures. Checked by
/// `validate_places_of_long_groups`.
pub fn place_size(group: f64, rate: DataRate, pictures: Frequency) -> Information {
    let of_one: Information = rate / pictures;
    of_one * ratio(group)
}

/// Pictures that are decoded for one place of a long-GOP file, in the mean: `(G + 1) / 2`.
///
/// `G` pictures a group. Assumes places spread evenly over the group.
/// Checked by `validate_places_of_long_groups`.
pub fn decoded_for_a_place(group: f64) -> Ratio {
    ratio(f64::midpoint(group, 1.0))
}

/// Pictures a second of a sequence with one file a picture: `q / (k T + q F / X)`.
///
/// `q` pictures fetched at once, at least one, `k` round trips a picture that wait for each other,
/// `T` round trip, `F` bytes a picture, `X` rate of the path. Assumes that the round trips of
/// pictures fetched together overlap and their bytes share the path; positioning of the store is in
/// `T` where it waits. Source: as [`crate::hop::requests::files_time`], for files in step. Checked
/// by `validate_sequences`.
pub fn pictures_a_second(
    at_once: f64,
    round_trips: f64,
    round_trip: Time,
    picture: Information,
    path: DataRate,
) -> Frequency {
    let moved: Time = picture * ratio(at_once) / path;
    ratio(at_once) / (round_trip * ratio(round_trips) + moved)
}

/// What has to be read ahead to outlast a pause of the store: `m r t`.
///
/// `m` streams, `r` rate of one, `t` how long the store pauses. Checked by `validate_read_ahead`.
pub fn read_ahead(streams: f64, rate: DataRate, pause: Time) -> Information {
    rate * pause * ratio(streams)
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;
    use narrows_units::quantity::{
        bytes, megabytes, megabytes_per_second, milliseconds, seconds, units,
    };

    /// Vectors print six digits: half a unit of the last one, relative to the smallest leading
    /// digit.
    const SIX_DIGITS: f64 = 5e-6;

    fn a_second(frequency: Frequency) -> f64 {
        frequency.get::<units::frequency::hertz>()
    }

    fn megabits(rate: f64) -> DataRate {
        DataRate::new::<units::data_rate::megabit_per_second>(rate)
    }

    #[test]
    fn validate_places_a_second() {
        // 707 Mb/s at 23.976 pictures a second
        let picture = megabytes(3.68702);
        for (round_trip, positioning, path, places) in [
            (0.2, 13.0, 1100.0, 60.4163),
            (0.2, 0.1, 1100.0, 273.835),
            (3.0, 13.0, 80.0, 16.1062),
        ] {
            let found = places_a_second(
                milliseconds(round_trip),
                milliseconds(positioning),
                picture,
                megabytes_per_second(path),
            );
            assert_relative_eq!(a_second(found), places, max_relative = SIX_DIGITS);
        }
    }

    #[test]
    fn validate_places_of_long_groups() {
        let pictures = Frequency::new::<units::frequency::hertz>(30000.0 / 1001.0);
        let found = place_size(15.0, megabits(100.0), pictures);
        assert_relative_eq!(
            found.get::<units::information::megabyte>(),
            6.25625,
            max_relative = SIX_DIGITS
        );
        let decoded = decoded_for_a_place(15.0).get::<units::ratio::one>();
        assert_relative_eq!(decoded, 8.0);
        // all-intra is a group of one
        assert_relative_eq!(decoded_for_a_place(1.0).get::<units::ratio::one>(), 1.0);
    }

    #[test]
    fn validate_sequences() {
        let picture = bytes(35_391_488.0);
        let path = megabytes_per_second(1100.0);
        for (ms, rate) in [(0.2, 30.144), (2.0, 23.7112)] {
            let found = pictures_a_second(1.0, 5.0, milliseconds(ms), picture, path);
            assert_relative_eq!(a_second(found), rate, max_relative = 2.0 * SIX_DIGITS);
        }
    }

    #[test]
    fn property_more_at_once_never_slows_a_sequence_and_never_beats_the_path() {
        let (picture, path) = (bytes(35_391_488.0), megabytes_per_second(1100.0));
        let mut before = 0.0;
        for at_once in 1..64 {
            let at_once = f64::from(at_once);
            let found = pictures_a_second(at_once, 5.0, milliseconds(2.0), picture, path);
            let bytes_a_second: DataRate = picture * found;
            assert!(a_second(found) > before && bytes_a_second < path);
            before = a_second(found);
        }
    }

    #[test]
    fn validate_read_ahead() {
        for (streams, size) in [(1.0, 55.25), (4.0, 221.0)] {
            let found = read_ahead(streams, megabits(884.0), seconds(0.5));
            assert_relative_eq!(found.get::<units::information::megabyte>(), size);
        }
    }
}
