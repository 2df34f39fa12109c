CREATE TABLE weather (
    station VARCHAR NOT NULL,
    "date" DATE NOT NULL,
    tmin_c DOUBLE,
    tmax_c DOUBLE,
    rain_mm DOUBLE,
    snow_mm DOUBLE,
    wind_m_s DOUBLE,
    rs_mj_m2 DOUBLE,
    tdew_c DOUBLE,
    rh_min DOUBLE,
    rh_max DOUBLE
)
