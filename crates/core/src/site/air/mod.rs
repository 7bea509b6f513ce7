//! Words of the air: access points, what radios speak and show, rooms, walls and jacks.

mod house;
mod links;
mod points;
mod tied;

pub(super) use house::rooms_named;
pub(super) use links::kinds;
pub(super) use points::{AIR, same_names};
pub(crate) use tied::retie;
pub(super) use tied::tie;
