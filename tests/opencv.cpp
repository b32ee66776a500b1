// OpenCV behind plain functions, for tests and benchmarks written in C.
#include "tests/opencv.h"

#include <opencv2/core.hpp>
#include <opencv2/imgproc.hpp>

uint32_t opencv_components(const unsigned char *mask, uint32_t width, uint32_t height, uint32_t *labels) {
    const cv::Mat in((int)height, (int)width, CV_8UC1, const_cast<unsigned char *>(mask));
    cv::Mat out((int)height, (int)width, CV_32SC1, labels);
    return (uint32_t)cv::connectedComponents(in, out, 8, CV_32S) - 1;
}

void opencv_homography(const double from[8], const double to[8], double h[9]) {
    cv::Point2f in[4], out[4];
    for (int i = 0; i < 4; i++) {
        in[i] = cv::Point2f((float)from[2 * i], (float)from[2 * i + 1]);
        out[i] = cv::Point2f((float)to[2 * i], (float)to[2 * i + 1]);
    }
    const cv::Mat found = cv::getPerspectiveTransform(in, out);
    for (int i = 0; i < 9; i++) h[i] = found.at<double>(i / 3, i % 3);
}
