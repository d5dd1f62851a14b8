//! A keeper says where they are: time zone, half of the world, and what "today" is there.

use hatchward::collection::store::Who;
use hatchward::conversation::desk::{Desk, Present};
use hatchward::reading::places::Half;
use jiff::civil::date;

use crate::keeper::Town;

#[tokio::test]
async fn a_time_zone_is_told_by_the_names_people_know() {
    let town = Town::new();
    let mut maren = town.breeder("Maren");
    maren.hears("what is my time zone?", &["I do not know where you are yet", "\"my time zone is Berlin\""]).await;
    maren.hears("my time zone is Berlin", &["Saved: your time zone is Berlin (Europe/Berlin).", "northern half"]).await;
    maren.hears("what's my timezone", &["Your time zone is Berlin (Europe/Berlin)", "northern half"]).await;
    maren.hears("I'm in Sydney", &["Sydney (Australia/Sydney)", "southern half"]).await;
    maren.hears("I'm in Sydney", &["Nothing was changed"]).await;
    maren.hears("I am in the UK", &["London (Europe/London)", "northern half"]).await;
    maren.hears("undo", &["Taken back: set your time zone to London (Europe/London)."]).await;
    maren.hears("my time zone", &["Sydney"]).await;
    maren.hears("Ich wohne in München", &["Berlin (Europe/Berlin)"]).await;
    maren.hears("set my timezone to est", &["New York (America/New_York)"]).await;
}

#[tokio::test]
async fn a_country_of_several_zones_is_asked_about() {
    let town = Town::new();
    let mut maren = town.breeder("Maren");
    maren.hears("I live in Australia", &["\"Australia\" has several time zones", "1. Sydney", "5. Perth"]).await;
    maren.hears("the second", &["Brisbane (Australia/Brisbane)"]).await;
    maren.hears("my time zone is the USA", &["several time zones", "1. New York"]).await;
    maren.hears("denver", &["Denver (America/Denver)"]).await;
}

#[tokio::test]
async fn the_half_follows_from_the_zone_unless_it_is_said() {
    let town = Town::new();
    let mut maren = town.breeder("Maren");
    maren.hears("I keep in the southern half", &["you keep in the southern half of the world"]).await;
    assert_eq!(maren.herd().await.half(), Some(Half::South));
    maren.hears("my time zone is Berlin", &["Berlin", "northern half"]).await;
    assert_eq!(maren.herd().await.half(), Some(Half::North));
    maren.hears("I'm in the southern hemisphere", &["southern"]).await;
    let herd = maren.herd().await;
    assert_eq!((herd.zone_name(), herd.half()), (Some("Europe/Berlin"), Some(Half::South)));
}

#[tokio::test]
async fn what_is_no_place_is_refused_or_left_alone() {
    let town = Town::new();
    let mut maren = town.breeder("Maren");
    maren.hears("my time zone is Berlni", &["I know no time zone \"Berlni\"", "Did you mean Berlin?"]).await;
    maren.hears("my time zone is Atlantis", &["I know no time zone \"Atlantis\"", "Name a large city"]).await;
    maren.hears("my time zone is UTC+2", &["does not tell me when your clocks change"]).await;
    for said in ["I'm in love with this clown", "I am in the middle of cleaning", "I keep in racks", "I'm in"] {
        let heard = maren.says(said).await;
        assert!(!heard.contains("time zone"), "{said:?} is no place:\n{heard}");
    }
    assert_eq!(maren.herd().await.home, None);
}

#[tokio::test]
async fn two_keepers_are_where_each_of_them_is() {
    let town = Town::new();
    let (mut maren, mut timo) = (town.breeder("Maren"), town.breeder("Timo"));
    maren.hears("I'm in Auckland", &["Auckland"]).await;
    timo.hears("what is my time zone", &["I do not know where you are"]).await;
    timo.hears("I'm in Lima", &["Lima"]).await;
    maren.hears("what is my time zone", &["Auckland"]).await;
    maren.hears("forget me", &["1 time zone or half of the world"]).await;
    maren.hears("erase everything", &["Everything is erased"]).await;
    maren.hears("what is my time zone", &["I do not know where you are"]).await;
    timo.hears("what is my time zone", &["Lima"]).await;
}

#[tokio::test]
async fn today_is_the_day_where_the_keeper_is() {
    // Kiritimati is at UTC+14, Pago Pago at UTC-11: 25 hours apart (IANA time zone database, 2025b).
    let town = Town::new();
    for (place, day) in
        [("Kiritimati", date(2026, 11, 26)), ("Pago Pago", date(2026, 11, 25)), ("Berlin", date(2026, 11, 25))]
    {
        let mut keeper = town.breeder(place);
        keeper.hears("add Biscuit, female normal ball python, 1500 g", &["Biscuit"]).await;
        keeper.hears(&format!("my time zone is {place}"), &[place]).await;
        let who = Who { platform: "terminal", user: place.to_owned() };
        let present =
            Present { day: date(2026, 11, 25), now: "2026-11-25T12:00:00Z".parse().ok(), ..date(2026, 11, 25).into() };
        let species = town.catalogue.by_name("ball python");
        let mut desk = Desk::new(&town.catalogue, &town.reader, species, Some(town.shelf.clone()));
        desk.turn(&who, None, present, "Biscuit weighs 1600 g today").await.expect("an answer");
        assert_eq!(keeper.herd().await.weights.last().map(|w| w.on), Some(day), "{place}");
    }
}

#[tokio::test]
async fn where_a_keeper_is_goes_out_with_their_copy_and_comes_back() {
    for form in ["json", "tables"] {
        let town = Town::new();
        let mut maren = town.breeder("Maren");
        maren.hears("add Biscuit, female normal ball python", &["Biscuit"]).await;
        maren.hears("I'm in Hobart", &["Hobart"]).await;
        maren.says(&format!("export everything as {form}")).await;
        let file = maren.takes_file().expect("a file");
        let mut timo = town.breeder("Timo");
        timo.receives(&file.bytes).await;
        timo.says("save").await;
        let herd = timo.herd().await;
        assert_eq!((herd.zone_name(), herd.half()), (Some("Australia/Hobart"), Some(Half::South)), "{form}");
    }
}
