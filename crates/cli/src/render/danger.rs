//! What is said before anything else: an array that the next failed drive loses.

use super::prose::counted;
use narrows_core::site::Site;

/// A sentence with a blank behind it, of the first array that stands on its last drive.
pub(crate) fn danger(site: &Site) -> Option<String> {
    site.arrays.iter().find_map(|array| {
        let failed = array.failed;
        let survives = array.layout()?.survives_any();
        (failed > 0 && failed >= survives).then(|| {
            format!(
                "{} has {}: one more loses all. First a complete second copy, with files opened from it; \
                 no rebuild, no drive pulled, no restart before that. ",
                array.name,
                counted(failed, "failed drive", "failed drives"),
            )
        })
    })
}
