//! A small picture of a rate over time, in one line of letters.

use narrows_probe::series::Window;

/// Heights, the lowest first.
const HEIGHTS: [char; 8] = ['▁', '▂', '▃', '▄', '▅', '▆', '▇', '█'];
/// Most letters of a picture.
const WIDEST: usize = 60;

/// The picture, the most that a letter stands for in MB/s, and how many seconds a letter stands for; none of fewer than
/// four windows.
pub(super) fn chart(windows: &[Window], width: usize) -> Option<(String, f64, f64)> {
    if windows.len() < 4 {
        return None;
    }
    let together = windows.len().div_ceil(width.clamp(10, WIDEST));
    let rates: Vec<(f64, f64)> = windows
        .chunks(together)
        .map(|part| {
            let bytes: u64 = part.iter().map(|w| w.bytes).sum();
            let seconds: f64 = part.iter().map(|w| w.length.as_secs_f64()).sum();
            (bytes as f64 / seconds.max(1e-9) / 1e6, seconds)
        })
        .collect();
    let most = rates.iter().map(|(rate, _)| *rate).fold(0.0, f64::max);
    if most <= 0.0 {
        return None;
    }
    let letters = rates
        .iter()
        .map(|(rate, _)| {
            let step = (rate / most * HEIGHTS.len() as f64).ceil() as usize;
            let height = step.clamp(1, HEIGHTS.len()) - 1;
            HEIGHTS.get(height).copied().unwrap_or(' ')
        })
        .collect();
    let seconds = rates.iter().map(|(_, seconds)| seconds).sum::<f64>() / rates.len() as f64;
    Some((letters, most, seconds))
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::time::Duration;

    #[test]
    fn verify_a_fall_is_seen() {
        let window = |rate: u64| Window {
            bytes: rate * 250_000,
            length: Duration::from_millis(250),
        };
        let windows: Vec<Window> = [800, 800, 800, 100, 100, 0].map(window).to_vec();
        let (letters, most, seconds) = chart(&windows, 60).unwrap();
        assert_eq!(letters, "███▁▁▁");
        assert!((most - 800.0).abs() < 1e-9 && (seconds - 0.25).abs() < 1e-9);
        let many = vec![window(5); 1000];
        assert!(chart(&many, 40).unwrap().0.chars().count() <= 40);
        assert_eq!(chart(&[window(1); 3], 40), None);
        assert_eq!(chart(&[window(0); 9], 40), None);
    }
}
