// OpenCV's own layers in the order that the network's file says.
#include "bench/opencv_nets.h"

#include <chrono>
#include <cmath>
#include <cstring>
#include <sstream>
#include <string>
#include <vector>

#include <cblas.h>
#include <opencv2/core.hpp>
#include <opencv2/dnn.hpp>
#include <opencv2/imgcodecs.hpp>
#include <opencv2/imgproc.hpp>

static double seconds() {
    return std::chrono::duration<double>(std::chrono::steady_clock::now().time_since_epoch()).count();
}

// The next so many weights as floats.
static cv::Mat take(const unsigned char **at, const std::vector<int> &shape) {
    size_t count = 1;
    for (int side : shape) count *= (size_t)side;
    cv::Mat half((int)count, 1, CV_16FC1), whole;
    std::memcpy(half.data, *at, 2 * count);
    *at += 2 * count;
    half.convertTo(whole, CV_32F);
    return whole.reshape(1, shape).clone();
}

static int add_conv(cv::dnn::Net &net, int from, int number, std::istringstream &line, const unsigned char **weights) {
    int in, out, stride, dilation;
    std::string end;
    line >> in >> out >> stride >> dilation >> end;
    cv::dnn::LayerParams conv;
    conv.set("num_output", out), conv.set("kernel_size", 3), conv.set("stride", stride);
    conv.set("dilation", dilation), conv.set("pad", dilation), conv.set("bias_term", true);
    conv.blobs.push_back(take(weights, {out, in, 3, 3}));
    conv.blobs.push_back(take(weights, {out}));
    int id = net.addLayer("conv" + std::to_string(number), "Convolution", conv);
    net.connect(from, 0, id, 0);
    if (end != "relu") return id;
    cv::dnn::LayerParams none;
    int relu = net.addLayer("relu" + std::to_string(number), "ReLU", none);
    net.connect(id, 0, relu, 0);
    return relu;
}

// `fold` at its beginning and `unfold` at its end are left to the caller.
static cv::dnn::Net build(const char *bytes, size_t size) {
    const std::string text(bytes, size);
    size_t end = text.find('\n', text.find("weights"));
    const unsigned char *weights = (const unsigned char *)bytes + end + 1;
    std::istringstream lines(text.substr(0, end));
    cv::dnn::Net net;
    int now = 0, kept[8] = {0}, number = 0;
    for (std::string line, word; std::getline(lines, line); number++) {
        std::istringstream words(line);
        words >> word;
        cv::dnn::LayerParams params;
        if (word == "conv") now = add_conv(net, now, number, words, &weights);
        int slot = 0;
        if (word == "keep") words >> slot, kept[slot % 8] = now;
        if (word == "grow") {
            params.set("interpolation", "nearest"), params.set("zoom_factor", 2);
            int id = net.addLayer("grow" + std::to_string(now), "Resize", params);
            net.connect(now, 0, id, 0);
            now = id;
        }
        if (word == "join") {
            words >> slot;
            int id = net.addLayer("join" + std::to_string(now), "Concat", params);
            net.connect(now, 0, id, 0);
            net.connect(kept[slot % 8], 0, id, 1);
            now = id;
        }
    }
    net.setPreferableBackend(cv::dnn::DNN_BACKEND_OPENCV);
    return net;
}

enum { COLOURS = 32 /* steps of each */, UNKNOWN = 128 };
static const int HISTOGRAM[] = {COLOURS, COLOURS, COLOURS};
using Prior = std::vector<unsigned char>; // of each colour, blue first: how it speaks for copper

// Copper of the picture, 0 or 255. Into the net go red, green, blue and the prior of each pixel, folded two by two.
static cv::Mat look(cv::dnn::Net &net, const cv::Mat &flat, const Prior &prior, int margin) {
    cv::Mat wide;
    int right = margin + (16 - (flat.cols + 2 * margin) % 16) % 16,
        below = margin + (16 - (flat.rows + 2 * margin) % 16) % 16;
    cv::copyMakeBorder(flat, wide, margin, below, margin, right, cv::BORDER_REPLICATE);
    int h = wide.rows / 2, w = wide.cols / 2;
    const int in_shape[] = {1, 16, h, w};
    cv::Mat in(4, in_shape, CV_32F);
    for (int k = 0; k < 4; k++)
        for (int y = 0; y < h; y++) {
            const unsigned char *from = wide.ptr(2 * y + k / 2) + 3 * (k % 2);
            float *to[4];
            for (int c = 0; c < 4; c++) to[c] = in.ptr<float>(0, 4 * c + k) + (size_t)y * w;
            for (int x = 0; x < w; x++, from += 6) {
                size_t cell = 0;
                for (int c = 0; c < 3; c++) {
                    to[c][x] = from[2 - c] / 127.5f - 1; // OpenCV's colours are BGR
                    cell = cell * COLOURS + from[c] * COLOURS / 256;
                }
                to[3][x] = prior[cell] / 127.5f - 1;
            }
        }
    net.setInput(in);
    cv::Mat out = net.forward(), copper(2 * h, 2 * w, CV_8UC1);
    for (int y = 0; y < 2 * h; y++)
        for (int x = 0; x < 2 * w; x++)
            copper.at<unsigned char>(y, x) =
                out.ptr<float>(0, y % 2 * 2 + x % 2)[(size_t)(y / 2) * w + x / 2] > 0 ? 255 : 0;
    return copper(cv::Rect(margin, margin, flat.cols, flat.rows)).clone();
}

// How often each colour is under the mask, smoothed over its neighbours.
static cv::Mat colours_of(const cv::Mat &flat, const cv::Mat &mask) {
    static const int channels[] = {0, 1, 2};
    static const float range[] = {0, 256}, *ranges[] = {range, range, range};
    cv::Mat histogram;
    cv::calcHist(&flat, 1, channels, mask, histogram, 3, HISTOGRAM, ranges);
    for (int pass = 0; pass < 2; pass++) {
        for (int slice = 0; slice < COLOURS; slice++) {
            cv::Mat plane(COLOURS, COLOURS, CV_32F, histogram.ptr<float>(slice));
            cv::blur(plane, plane, cv::Size(3, 3));
        }
        cv::Mat deep(COLOURS, COLOURS * COLOURS, CV_32F, histogram.ptr<float>());
        cv::blur(deep, deep, cv::Size(1, 3));
    }
    return histogram;
}

// What a first look at half the scale says of the board's colours: as src/copper/layers_prior.c, without hints.
static Prior learn(cv::dnn::Net &net, const cv::Mat &flat, int margin) {
    const float pixels = 20000, least = 2;
    cv::Mat half;
    cv::resize(flat, half, cv::Size(), 0.5, 0.5, cv::INTER_AREA);
    Prior prior((size_t)COLOURS * COLOURS * COLOURS, UNKNOWN);
    cv::Mat mask = look(net, half, prior, margin), copper = colours_of(half, mask), bare = colours_of(half, ~mask);
    float times = pixels / (float)half.total();
    for (size_t i = 0; i < prior.size(); i++) {
        float ratio = std::log((copper.ptr<float>()[i] * times + least) / (bare.ptr<float>()[i] * times + least)) / 4;
        prior[i] = cv::saturate_cast<unsigned char>(ratio * 127.5f + 127.5f);
    }
    return prior;
}

uint32_t opencv_nets(const char *path, const double corners[8], uint32_t width, uint32_t height, uint32_t margin,
                     const char *net, size_t net_bytes, double *net_seconds) try {
    cv::setNumThreads(2);
    cv::Mat photo = cv::imread(path), flat, labels;
    if (photo.empty()) return 0;
    cv::Point2f from[4], to[4];
    for (int i = 0; i < 4; i++) {
        from[i] = cv::Point2f((float)corners[2 * i], (float)corners[2 * i + 1]);
        to[i] = cv::Point2f(i % 3 ? (float)width : 0, i / 2 ? (float)height : 0);
    }
    cv::warpPerspective(photo, flat, cv::getPerspectiveTransform(from, to), cv::Size((int)width, (int)height),
                        cv::INTER_LINEAR);
    double before = seconds();
    cv::dnn::Net built = build(net, net_bytes);
    cv::Mat copper = look(built, flat, learn(built, flat, (int)margin), (int)margin);
    *net_seconds = seconds() - before;
    std::vector<std::vector<cv::Point>> outlines;
    int count = cv::connectedComponents(copper, labels, 8, CV_32S);
    cv::findContours(copper, outlines, cv::RETR_CCOMP, cv::CHAIN_APPROX_NONE);
    return outlines.empty() ? 0 : (uint32_t)count - 1;
} catch (const cv::Exception &) {
    return 0;
}

double openblas_flops(int m, int n, int k) {
    std::vector<float> a((size_t)m * k, 0.5f), b((size_t)k * n, 0.25f), c((size_t)m * n);
    openblas_set_num_threads(1);
    double best = 0;
    for (int i = 0; i < 5; i++) {
        double start = seconds();
        cblas_sgemm(CblasRowMajor, CblasNoTrans, CblasNoTrans, m, n, k, 1, a.data(), k, b.data(), n, 0, c.data(), n);
        double flops = 2.0 * m * n * k / (seconds() - start);
        best = flops > best ? flops : best;
    }
    return best;
}
