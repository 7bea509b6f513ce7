mod answers;
mod courses;
mod reading;
