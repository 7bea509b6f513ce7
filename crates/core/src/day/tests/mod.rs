mod courses;
mod reading;
