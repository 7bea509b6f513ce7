//! Sizes and rates of pictures and sound by formula.

use super::{FrameRate, Raster};
use crate::quantity::{DataRate, Frequency, Information, Measure, Time, bytes, seconds};

/// Rate of pictures of one size: `r = F f`, with F bytes a frame and f frames a second.
pub fn rate_of_frames(frame: Information, frames: FrameRate) -> DataRate {
    DataRate::from_base(frame.base() * frames.frames().base())
}

/// Bytes of a frame at a number of coded bits a pixel: `F = b W H / 8`.
///
/// `b` mean coded bits a pixel over the raster W x H. Exact for what is not compressed; a mean
/// elsewhere. Checked by `validate_uncompressed_rates` and `validate_bits_per_pixel_of_targets`.
pub fn frame_at_bits(bits_per_pixel: f64, raster: Raster) -> Information {
    bytes(bits_per_pixel * raster.pixels() / 8.0)
}

/// Bytes of a frame of 10-bit 4:2:2 samples, packed: `F = 128 ceil(W / 48) H`.
///
/// Six pixels in 16 bytes, rows padded to 128 bytes: 21.33 bits a pixel and not 20. Checked by
/// `validate_uncompressed_rates`.
pub fn packed_10_bit_frame(raster: Raster) -> Information {
    bytes(128.0 * f64::from(raster.width.div_ceil(48)) * f64::from(raster.height))
}

/// Bytes of a DPX frame in red, green and blue: `F = 4 W H + 2048` at 10 bits, `6 W H + 2048` at 16.
///
/// Three samples of 10 bits lie in a word of 32. Headers may be padded further. Source: SMPTE
/// ST 268. Checked by `validate_frames_of_their_own_files`.
pub fn dpx_frame(raster: Raster, deep: bool) -> Information {
    let per_pixel = if deep { 6.0 } else { 4.0 };
    bytes(per_pixel * raster.pixels() + 2048.0)
}

/// Bytes of an EXR frame of half-precision red, green and blue, not compressed:
/// `F = h + H (16 + 6 W)`.
///
/// A line has 8 bytes of offset and 8 of chunk head; `h` is the header. Source: `OpenEXR` file
/// layout. Checked by `validate_frames_of_their_own_files`.
pub fn exr_half_frame(raster: Raster, header: Information) -> Information {
    let line = 16.0 + 6.0 * f64::from(raster.width);
    header + bytes(f64::from(raster.height) * line)
}

/// Bytes of a `DNxHR` frame: `F = 4096 floor((floor(N W H / 65280) + 2048) / 4096)`, 8192 at least.
///
/// `N` is the number of the class. Source: SMPTE ST 2019-1. Checked by
/// `validate_frames_in_steps_of_4096`.
pub fn frame_in_steps_of_4096(class: f64, raster: Raster) -> Information {
    let plain = libm::floor(class * raster.pixels() / (256.0 * 255.0));
    bytes((4096.0 * libm::floor((plain + 2048.0) / 4096.0)).max(8192.0))
}

/// Rate of sound that is not compressed: `r = n b f / 8`, with n tracks of b bits at f samples a
/// second. Checked by `validate_sound`.
pub fn sound_rate(tracks: u32, bits: u32, samples: Frequency) -> DataRate {
    DataRate::from_base(f64::from(tracks) * f64::from(bits) * samples.base() / 8.0)
}

/// What a rate makes of an hour: `V = 3600 s r`, 0.45 GB for each Mb/s. Checked by
/// `validate_volume_of_an_hour`.
pub fn volume_of_an_hour(rate: DataRate) -> Information {
    let hour: Time = seconds(3600.0);
    rate * hour
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::units::data_rate::{megabit_per_second, megabyte_per_second};
    use crate::quantity::units::information::{byte, gigabyte, megabyte};
    use approx::assert_relative_eq;

    /// Half a unit of the sixth printed digit.
    const SIX_DIGITS: f64 = 5e-6;
    /// Half a byte.
    const HALF_A_BYTE: f64 = 0.5;

    const HD: Raster = raster(1920, 1080);
    const UHD: Raster = raster(3840, 2160);
    const FOUR_K: Raster = raster(4096, 2160);

    const RATES: [FrameRate; 5] = [
        FrameRate::over_1001(24),
        FrameRate::whole(25),
        FrameRate::over_1001(30),
        FrameRate::whole(50),
        FrameRate::over_1001(60),
    ];

    const fn raster(width: u32, height: u32) -> Raster {
        Raster { width, height }
    }

    fn megabits(frame: Information, frames: FrameRate) -> f64 {
        rate_of_frames(frame, frames).get::<megabit_per_second>()
    }

    fn assert_row(frame: Information, expected: [f64; 5]) {
        for (frames, expected) in RATES.into_iter().zip(expected) {
            assert_relative_eq!(megabits(frame, frames), expected, max_relative = SIX_DIGITS);
        }
    }

    #[test]
    fn validate_uncompressed_rates() {
        assert_row(
            packed_10_bit_frame(HD),
            [1060.62, 1105.92, 1325.78, 2211.84, 2651.56],
        );
        assert_row(
            packed_10_bit_frame(UHD),
            [4242.49, 4423.68, 5303.11, 8847.36, 10606.2],
        );
        // in print: 166 MB/s, and 124 MB/s for 8 bits, both at 29.97
        let rate = rate_of_frames(packed_10_bit_frame(HD), RATES[2]);
        assert!((rate.get::<megabyte_per_second>() - 166.0).abs() < 0.5);
        let rate = rate_of_frames(frame_at_bits(16.0, HD), RATES[2]);
        assert_relative_eq!(
            rate.get::<megabyte_per_second>(),
            124.292,
            max_relative = SIX_DIGITS
        );
    }

    #[test]
    fn validate_frames_of_their_own_files() {
        let dpx = dpx_frame(FOUR_K, false);
        assert!((dpx.get::<byte>() - 35_391_488.0).abs() < HALF_A_BYTE);
        assert_row(dpx, [6788.38, 7078.30, 8485.47, 14156.6, 16970.9]);
        let scan = dpx_frame(raster(2048, 1556), false);
        assert!((scan.get::<byte>() - 12_748_800.0).abs() < HALF_A_BYTE);
        assert!(
            (dpx_frame(HD, true).get::<byte>() - (6.0 * HD.pixels() + 2048.0)).abs() < HALF_A_BYTE
        );
        let exr = exr_half_frame(FOUR_K, bytes(400.0));
        // printed at four digits
        assert!((exr.get::<megabyte>() - 53.12).abs() < 0.005);
        assert_row(exr, [10188.7, 10623.8, 12735.9, 21247.6, 25471.7]);
    }

    #[test]
    fn validate_frames_in_steps_of_4096() {
        let classes = [5888.0, 18944.0, 28672.0, 57344.0];
        for (raster, frames) in [
            (UHD, [749_568.0, 2_408_448.0, 3_641_344.0, 7_286_784.0]),
            (
                raster(2048, 1080),
                [200_704.0, 643_072.0, 970_752.0, 1_941_504.0],
            ),
        ] {
            for (class, expected) in classes.into_iter().zip(frames) {
                let found = frame_in_steps_of_4096(class, raster).get::<byte>();
                assert!(
                    (found - expected).abs() < HALF_A_BYTE,
                    "{raster} {class}: {found}"
                );
            }
        }
        let least = frame_in_steps_of_4096(5888.0, raster(16, 16));
        assert!((least.get::<byte>() - 8192.0).abs() < HALF_A_BYTE);
        for (frame, row) in [
            (749_568.0, [143.773, 149.914, 179.717, 299.827, 359.433]),
            (2_408_448.0, [461.960, 481.690, 577.450, 963.379, 1154.90]),
            (3_641_344.0, [698.440, 728.269, 873.050, 1456.54, 1746.10]),
            (7_286_784.0, [1397.66, 1457.36, 1747.08, 2914.71, 3494.16]),
            // one more codec with frames of one size
            (1_250_304.0, [239.819, 250.061, 299.773, 500.122, 599.546]),
        ] {
            assert_row(bytes(frame), row);
        }
    }

    #[test]
    fn validate_raw_of_a_fixed_ratio() {
        let frames = FrameRate::whole(24);
        for (raster, row) in [
            (raster(6144, 3456), [2038.43, 1223.06, 764.412, 509.608]),
            (raster(8192, 4320), [3397.39, 2038.43, 1274.02, 849.347]),
        ] {
            for (smaller, expected) in [3.0, 5.0, 8.0, 12.0].into_iter().zip(row) {
                let frame = frame_at_bits(12.0 / smaller, raster);
                assert_relative_eq!(megabits(frame, frames), expected, max_relative = SIX_DIGITS);
            }
        }
    }

    #[test]
    fn validate_sound() {
        let at = |kilohertz: f64| Frequency::from_base(kilohertz * 1e3);
        for (tracks, bits, samples, expected) in [
            (1, 24, 48.0, 1.152),
            (16, 24, 48.0, 18.432),
            (64, 32, 96.0, 196.608),
        ] {
            let rate = sound_rate(tracks, bits, at(samples));
            assert_relative_eq!(
                rate.get::<megabit_per_second>(),
                expected,
                max_relative = 1e-12
            );
        }
    }

    #[test]
    fn validate_volume_of_an_hour() {
        let rate = DataRate::new::<megabit_per_second>(1.0);
        assert_relative_eq!(
            volume_of_an_hour(rate).get::<gigabyte>(),
            0.45,
            max_relative = 1e-12
        );
    }
}
